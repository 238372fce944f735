"""A month of work for crews on routes: how good a plan is after how much looking, against greedy insertion.

Invented: 500 sites in a square of 100 km with two depots, 1,000 orders (tests, sweepings, washing, re-jointing) of 20
minutes to 5 hours, some for crews with the equipment alone, each open on some days of the month, worth 60 to 900.
Prints CPU seconds, value, ratio to greedy, what is left, and what an independent checker finds: for so many rounds,
for what the product does, and with --long for a search that goes on for minutes. --orders, --crews and --seed choose
another month; 3,000 orders and 30 crews are a large firm's.
"""

import argparse
from time import process_time

import numpy as np

from planning.calc.routing.check import faults
from planning.calc.routing.problem import CrewTime, Plan, Problem, Shift, WorkOrder
from planning.calc.routing.timetable import greedy
from planning.calc.routing.windows import Effort, make_plan

KM_MONEY, HOUR_MONEY, KM_H = 0.6, 45.0, 55.0


def month(seed: int, n_orders: int, n_crews: int, n_days: int = 20) -> Problem:
    """An invented month."""
    rng = np.random.default_rng(seed)
    n_sites = n_orders // 2
    points = np.concatenate([[[30.0, 50.0], [75.0, 40.0]], rng.uniform(0, 100, size=(n_sites, 2))])
    km = 1.3 * np.hypot(*(points[:, None] - points).transpose(2, 0, 1))
    minutes = np.rint(60 * km / KM_H).astype(np.int64)
    shifts = {day: Shift(7 * 60, 15 * 60 + 30) for day in range(n_days)}
    crews = [CrewTime(f"crew {i}", i % 2, shifts, KM_MONEY, HOUR_MONEY) for i in range(n_crews)]
    able = [frozenset(range(n_crews)), frozenset(range(0, n_crews, 2)), frozenset(range(0, n_crews, 3))]
    return Problem(crews, [_order(rng, i, n_sites, n_days, able) for i in range(n_orders)], minutes, km)


def _order(
    rng: np.random.Generator, i: int, n_sites: int, n_days: int, able: list[frozenset[int]]
) -> WorkOrder:
    kind = int(rng.choice(4, p=[0.45, 0.3, 0.15, 0.1]))
    minutes = int(rng.integers(*((20, 70), (40, 150), (90, 240), (150, 300))[kind]))
    worth = float(rng.uniform(*((60, 200), (90, 350), (150, 600), (250, 900))[kind]))
    first = int(rng.integers(0, n_days - 3))
    last = min(n_days, first + int(rng.integers(3, n_days)))
    opens, closes = ((0, 1440), (8 * 60, 12 * 60), (10 * 60, 18 * 60))[
        int(rng.choice(3, p=[0.7, 0.15, 0.15]))
    ]
    crews = able[(0, 1, 1, 2)[kind]]
    return WorkOrder(
        f"o{i:04}",
        2 + int(rng.integers(n_sites)),
        dict.fromkeys(sorted(crews), min(minutes, closes - opens)),
        frozenset(range(first, last)),
        worth,
        opens,
        closes,
    )


def line(name: str, problem: Problem, plan: Plan, seconds: float, first: float) -> str:
    wrong = faults(problem, plan)
    value = plan.value(problem)
    return (
        f"{name:<24}{seconds:8.2f}{value:12.0f}{value / first:8.3f}{len(plan.left):7}  faults: {len(wrong)}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--orders", type=int, default=1000)
    parser.add_argument("--crews", type=int, default=10)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--rounds", type=int, nargs="*", default=[1, 4])
    parser.add_argument("--long", type=int, default=0, help="rounds of a search that does not settle")
    options = parser.parse_args()
    problem = month(options.seed, options.orders, options.crews)
    print(f"{options.orders} orders, {options.crews} crews, 20 days, seed {options.seed}")
    print(f"{'plan':<24}{'CPU s':>8}{'value':>12}{'ratio':>8}{'left':>7}")
    start = process_time()
    first = greedy(problem).plan()
    print(line("greedy insertion", problem, first, process_time() - start, first.value(problem)), flush=True)
    efforts = [(f"at most {rounds} rounds", Effort(rounds=rounds)) for rounds in options.rounds]
    efforts.append(("as the product", Effort().for_size(problem)))
    if options.long:
        efforts.append((f"{options.long} rounds", Effort(rounds=options.long, settled=-1.0)))
    for name, effort in efforts:
        start = process_time()
        plan = make_plan(problem, effort)
        print(line(name, problem, plan, process_time() - start, first.value(problem)), flush=True)


if __name__ == "__main__":
    main()
