"""Ten thousand surfaces: how long it takes to decide on all of them, to compare one, and to plan ten years.

    python -m benchmarks.deciding_at_size

The figures of a few surfaces of the demo's kind are repeated. Deciding, tables at hand, is measured against deciding
surface by surface; the plan within half of the money against a linear programme of the same choice (HiGHS), which may
divide surfaces and so bounds what any plan can reach. Seconds of the processor.
"""

import argparse
import sys
from collections.abc import Callable
from time import process_time
from typing import TypeVar

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array

from benchmarks.budget import FUTURES, compared
from benchmarks.deciding_worlds import FIRST_STEP, Fleet, fleet
from clogging import api
from maintenance.calc.deciding.budget import Care, Programmes, choose_care
from maintenance.calc.deciding.compare import frontier_table
from maintenance.calc.deciding.problem import Ints
from maintenance.calc.deciding.rule import method_now, should_test, weigh
from maintenance.calc.deciding.table import Table, solve
from planning.calc.budget import Compared, offers_of, plan_years

SIZE = 10_000
FEW, ALONE = 12, 200
MOST_DECIDING_S, MOST_PLANNING_S = 0.1, 10.0
T = TypeVar("T")


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Seconds of the processor, and what came of it."""
    start = process_time()
    found = work()
    return process_time() - start, found


def main() -> int:
    """Print all; 1 where deciding or planning takes longer than it may."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--size", type=int, default=SIZE)
    asked = parser.parse_args()
    deciding = _deciding(asked.seed, asked.size)
    planning = _planning(asked.seed, asked.size)
    return int(deciding > MOST_DECIDING_S or planning > MOST_PLANNING_S)


def _deciding(seed: int, size: int) -> float:
    few = fleet(seed, FEW)
    known, _ = api.known_and_drawn(
        few.histories, api.prior_fit(), now_yr=list(few.now_yr), n_draws=1, rng=np.random.default_rng(seed)
    )
    table = solve(known, few.case)
    tables, _ = timed(lambda: [_own_table(known, few, i) for i in range(FEW)])
    print(f"table of one surface for five prices of time below: {tables / FEW:.3f} s")
    at = np.arange(size) % FEW
    decide(known, few, table, at)
    seconds, _ = timed(lambda: decide(known, few, table, at))
    each, _ = timed(lambda: [decide(known, few, table, at[i : i + 1]) for i in range(ALONE)])
    each *= size / ALONE
    print(
        f"{size} decisions: {seconds:.3f} s; one by one {each:.2f} s, {each / max(seconds, 1e-9):.0f} times as long"
    )
    return seconds


def _own_table(known: api.Known, few: Fleet, i: int) -> Table:
    at = np.array([i])
    return frontier_table(known.columns(at), few.case.columns(at))


def decide(known: api.Known, few: Fleet, table: Table, at: Ints) -> tuple[Ints, Ints]:
    """Where to test, and what to do."""
    own, case = known.columns(at), few.case.columns(at)
    found = weigh(own, case, table, (at, np.zeros_like(at)), FIRST_STEP)
    return np.flatnonzero(should_test(found, case, few.since_test[at], FIRST_STEP)), method_now(found)


def _planning(seed: int, size: int) -> float:
    seconds, few = timed(lambda: compared(seed, FEW))
    print(f"one surface's programmes on {FUTURES} futures, its table with it: {seconds / FEW:.3f} s")
    surfaces = [few[i % FEW] for i in range(size)]
    free = choose_care(offers_of(surfaces).known, np.inf)
    assert free is not None
    money = 0.5 * free.cost
    seconds, care = timed(lambda: planned(surfaces, money))
    known = offers_of(surfaces).known
    others, least = timed(lambda: bound(known, money))
    more = (care.cost + care.below) / least - 1.0
    print(f"ten years with ranges within half of the money: {seconds:.2f} s; linear programme {others:.2f} s")
    print(f"{100 * more:.2f} % above its bound, {max(care.cost - money, 0.0):.2f} more than the sum")
    return seconds


def planned(surfaces: list[Compared], money: float) -> Care:
    """The care of all, and its years."""
    care = choose_care(offers_of(surfaces).known, money)
    assert care is not None
    plan_years(surfaces, care)
    return care


def bound(known: Programmes, money: float) -> float:
    """The least that a linear programme finds."""
    offered = np.isfinite(known.cost)
    surface, _ = np.nonzero(offered)
    cost, below = known.cost[offered], known.below[offered]
    one = coo_array((np.ones(cost.size), (surface, np.arange(cost.size)))).tocsr()
    found = linprog(cost + below, A_ub=cost[None], b_ub=[money], A_eq=one, b_eq=np.ones(len(known.cost)))
    return float(found.fun)


if __name__ == "__main__":
    sys.exit(main())
