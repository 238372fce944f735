"""What a yearly budget buys over many surfaces: which work is done this year, and how each is cared for over ten years.

Two questions, two answers:

* `choose_work`: of the works that would pay now, the set with the largest gain within the sum. Works of one method at
  one site are one trip, which pays its minimum charge once. Solved as a mixed-integer programme by HiGHS (scipy).
* `choose_care`: of the programmes that were compared for each surface, one each, with the least total of money and
  priced time below the limit whose yearly spending is within the sum. The price of time below is divided by 1 + mu,
  and mu found by bisection (Everett 1963, Operations Research 11:399, generalised Lagrange multipliers; from memory);
  the cases that are small enough are solved exactly, since the multiplier passes over sets off the convex hull.

Plain arrays, no Django. S surfaces, P programmes side by side, Y years; a programme that a surface has not is infinite
in cost.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import scipy  # optimize is loaded when first named
from scipy.sparse import coo_array, csr_array

from maintenance.calc.deciding.problem import Floats, Ints

EXACT_UP_TO = 60  # surfaces; above that what the multiplier leaves is less than the cost of one of them
HALVINGS = 60
LARGEST_MU = 1e9
GAP = 1e-4  # of the largest gain, for many works; few are solved to the end
FEW_WORKS = 60
SECONDS = 20.0


@dataclass(frozen=True, slots=True)
class Work:
    """One work that pays now. trip: what goes in one visit, such as a method at a site; gain: money it saves.

    by_area: its price by the area alone; minimum: what the whole trip costs at least
    """

    trip: str
    by_area: float
    minimum: float
    gain: float


class Chosen(NamedTuple):
    """works: indices of what is done; cost: of all trips; gain: of what is done; left: gain of what is not."""

    works: tuple[int, ...]
    cost: float
    gain: float
    left: float


def trip_cost(works: Sequence[Work]) -> float:
    """Works of one trip: by their area, but never under the minimum charge."""
    return max(sum(work.by_area for work in works), max((work.minimum for work in works), default=0.0))


def cost_of(works: Sequence[Work]) -> float:
    """Of works on as many trips as they need."""
    trips: dict[str, list[Work]] = {}
    for work in works:
        trips.setdefault(work.trip, []).append(work)
    return sum(trip_cost(each) for each in trips.values())


def choose_work(works: Sequence[Work], budget: float) -> Chosen:
    """The works with the largest gain in all that cost no more than the budget.

    Works without a gain are never chosen. Exact for FEW_WORKS, else within GAP of the best. Raises ValueError for a
    budget below 0.
    """
    if not budget >= 0.0:
        raise ValueError(f"A budget is 0 or more, got {budget:g}.")
    useful = [i for i, work in enumerate(works) if work.gain > 0.0]
    taken = _by_gain_per_money(works, useful, budget)
    if cost_of([works[i] for i in useful]) <= budget:
        taken = useful
    elif useful:
        solved = _solved([works[i] for i in useful], budget)
        better = [useful[i] for i in solved]
        if _gain(works, better) > _gain(works, taken) and cost_of([works[i] for i in better]) <= budget:
            taken = better
    gain = _gain(works, taken)
    return Chosen(tuple(sorted(taken)), cost_of([works[i] for i in taken]), gain, _gain(works, useful) - gain)


def _gain(works: Sequence[Work], taken: Sequence[int]) -> float:
    return sum(works[i].gain for i in taken)


def _by_gain_per_money(works: Sequence[Work], useful: Sequence[int], budget: float) -> list[int]:
    """Whole trips in the order of their gain per money, while they fit: what is never worse than nothing."""
    trips: dict[str, list[int]] = {}
    for i in useful:
        trips.setdefault(works[i].trip, []).append(i)
    priced = [(trip_cost([works[i] for i in rows]), rows) for rows in trips.values()]
    taken: list[int] = []
    for cost, rows in sorted(priced, key=lambda each: -_gain(works, each[1]) / max(each[0], 1e-9)):
        if cost <= budget:
            budget -= cost
            taken += rows
    return taken


def _solved(works: Sequence[Work], budget: float) -> list[int]:
    """Variables: done or not (n), price of a trip (t), at least by area and at least what each of its works asks."""
    names = {trip: k for k, trip in enumerate(dict.fromkeys(work.trip for work in works))}
    of = np.array([names[work.trip] for work in works])
    n, t = len(works), len(names)
    area, least = (np.array([getattr(work, name) for work in works]) for name in ("by_area", "minimum"))
    each, trips = np.arange(n), np.arange(t)
    by_area = _matrix((t, n + t), (of, each, area), (trips, n + trips, -1.0))
    at_least = _matrix((n, n + t), (each, each, least), (each, n + of, -1.0))
    spent = _matrix((1, n + t), (np.zeros(t, int), n + trips, 1.0))
    found = scipy.optimize.milp(
        np.concatenate([[-work.gain for work in works], np.zeros(t)]),
        integrality=np.concatenate([np.ones(n), np.zeros(t)]),
        bounds=scipy.optimize.Bounds(0.0, np.concatenate([np.ones(n), np.full(t, np.inf)])),
        constraints=[
            scipy.optimize.LinearConstraint(by_area, -np.inf, 0.0),
            scipy.optimize.LinearConstraint(at_least, -np.inf, 0.0),
            scipy.optimize.LinearConstraint(spent, -np.inf, budget),
        ],
        options={"mip_rel_gap": 0.0 if n <= FEW_WORKS else GAP, "time_limit": SECONDS},
    )
    return [] if found.x is None else [int(i) for i in np.flatnonzero(found.x[:n] > 0.5)]


def _matrix(shape: tuple[int, int], *parts: tuple[Ints, Ints, Floats | float]) -> csr_array:
    rows = np.concatenate([part[0] for part in parts])
    columns = np.concatenate([part[1] for part in parts])
    values = np.concatenate([np.broadcast_to(part[2], part[0].shape) for part in parts])
    return coo_array((values, (rows, columns)), shape=shape).tocsr()


@dataclass(frozen=True, slots=True)
class Programmes:
    """What was compared for S surfaces. cost, below: (S, P) money a year, and priced time below the limit a year.

    Both are means over the years that were compared, and over the futures that were drawn.
    """

    cost: Floats
    below: Floats

    def __post_init__(self) -> None:
        """Refuse what cannot be chosen from."""
        if self.cost.shape != self.below.shape or not np.isfinite(self.cost).any(1).all():
            raise ValueError(
                f"Costs {self.cost.shape} and time below {self.below.shape} must be alike, and every surface needs a "
                "programme of finite cost."
            )


class Care(NamedTuple):
    """taken: (S,) the programme of each surface; mu: what the price of time below is divided by, less 1.

    cost, below: of all surfaces, a year
    """

    taken: Ints
    mu: float
    cost: float
    below: float


def choose_care(known: Programmes, budget: float) -> Care | None:
    """One programme for each surface, the cheapest in all that spends no more a year than the budget.

    None where even the cheapest programmes spend more. More money never gives more priced time below.
    """
    if known.cost.size == 0:
        return Care(np.zeros(0, dtype=np.int64), 0.0, 0.0, 0.0)
    if known.cost.min(1).sum() > budget:
        return None
    free = care_at(known, 0.0)
    if free.cost <= budget:
        return free
    found = _bisected(known, budget)
    return _exact(known, budget, found) if len(known.cost) <= EXACT_UP_TO else found


def care_at(known: Programmes, mu: float) -> Care:
    """The programmes that cost least with the price of time below divided by 1 + mu; of equals the cheaper."""
    total = known.cost + np.where(np.isfinite(known.cost), known.below, 0.0) / (1.0 + mu)
    least = total.min(1, keepdims=True)
    equal = total <= least + 1e-9 * np.abs(least)
    return _care(known, np.where(equal, known.cost, np.inf).argmin(1), mu)


def _care(known: Programmes, taken: Ints, mu: float) -> Care:
    rows = np.arange(len(taken))
    return Care(taken, mu, float(known.cost[rows, taken].sum()), float(known.below[rows, taken].sum()))


def _bisected(known: Programmes, budget: float) -> Care:
    """The least mu whose spending is within the budget, on a scale of logarithms."""
    low, high = 0.0, LARGEST_MU
    best = care_at(known, high)
    if best.cost > budget:
        return _care(known, known.cost.argmin(1), high)
    for _ in range(HALVINGS):
        middle = float(np.sqrt((1.0 + low) * (1.0 + high)) - 1.0)
        tried = care_at(known, middle)
        low, high = (low, middle) if tried.cost <= budget else (middle, high)
        best = tried if tried.cost <= budget else best
    return best


def _exact(known: Programmes, budget: float, found: Care) -> Care:
    """The best set within the budget, be it off the convex hull."""
    offered = np.isfinite(known.cost)
    n_surfaces, n = known.cost.shape[0], int(offered.sum())
    surface, column = np.nonzero(offered)
    cost, below = known.cost[offered], known.below[offered]
    one = _matrix((n_surfaces, n), (surface, np.arange(n), 1.0))
    spent = _matrix((1, n), (np.zeros(n, int), np.arange(n), cost))
    solved = scipy.optimize.milp(
        cost + below,
        integrality=np.ones(n),
        bounds=scipy.optimize.Bounds(0.0, 1.0),
        constraints=[
            scipy.optimize.LinearConstraint(one, 1.0, 1.0),
            scipy.optimize.LinearConstraint(spent, -np.inf, budget),
        ],
        options={"mip_rel_gap": 0.0, "time_limit": SECONDS},
    )
    if solved.x is None:
        return found
    taken = np.zeros(n_surfaces, dtype=np.int64)
    used = solved.x > 0.5
    taken[surface[used]] = column[used]
    better = _care(known, taken, found.mu)
    fits = better.cost <= budget and better.cost + better.below < found.cost + found.below
    return better if fits else found


def frontier(known: Programmes, points: int = 16) -> list[Care]:
    """Care at budgets from the least that can be spent to what costs least in all, the dearest last, each once."""
    least = float(known.cost.min(1).sum())
    free = care_at(known, 0.0)
    found = [_bisected(known, budget) for budget in np.linspace(least, free.cost, points)[:-1]]
    return [*{round(care.cost, 2): care for care in found if care.cost < free.cost}.values(), free]
