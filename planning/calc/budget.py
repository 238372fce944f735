"""A firm's or an owner's care over ten years within a yearly sum, from what was compared surface by surface."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from core.calc.translation import gettext, gettext_noop
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome
from maintenance.calc.deciding.budget import Care, Programmes

TESTS = gettext_noop("Tests")
WIDTH_80 = 2.563  # of the 80 % range of a normal distribution, in standard deviations


@dataclass(frozen=True, slots=True)
class Compared:
    """One surface with what was compared for it. prices: of one cleaning by method, in words; test: of one round."""

    name: str
    owner: str
    area_m2: float
    comparison: CareComparison
    prices: Mapping[str, float]
    test: float

    @property
    def outcomes(self) -> list[CareOutcome]:
        """What can be chosen: stopping the sediment is not care that is bought again each year."""
        return [outcome for outcome in self.comparison.outcomes if outcome.kind is not CareKind.SOURCE]


@dataclass(frozen=True, slots=True)
class PlanYear:
    """One year of all surfaces. low, high: the 80 % range, each surface's futures taken as independent of others'."""

    mean: float
    low: float
    high: float
    by_owner: Mapping[str, float]
    by_kind: Mapping[str, float]
    below_m2_yr: float


def programmes_of(surfaces: Sequence[Compared]) -> Programmes:
    """The arrays that a choice is made from: mean money a year, and mean time below at its price."""
    most = max((len(surface.outcomes) for surface in surfaces), default=0)
    cost, below = np.full((len(surfaces), most), np.inf), np.zeros((len(surfaces), most))
    for i, surface in enumerate(surfaces):
        for p, outcome in enumerate(surface.outcomes):
            cost[i, p] = outcome.cost_a_year.mean
            below[i, p] = _below_m2(surface, outcome) * surface.comparison.below_price_m2_yr
    return Programmes(cost, below)


def _below_m2(surface: Compared, outcome: CareOutcome) -> float:
    return surface.area_m2 * outcome.months_below / 12.0


def below_share(surfaces: Sequence[Compared], care: Care) -> float:
    """The share of area and time below the limit."""
    area = sum(surface.area_m2 for surface in surfaces)
    chosen = zip(surfaces, care.taken, strict=True)
    return sum(_below_m2(surface, surface.outcomes[p]) for surface, p in chosen) / max(area, 1e-9)


def plan_years(surfaces: Sequence[Compared], care: Care) -> list[PlanYear]:
    """Year by year what the chosen programmes cost and leave below."""
    chosen = [(surface, surface.outcomes[p]) for surface, p in zip(surfaces, care.taken, strict=True)]
    years = min((len(outcome.by_year) for _, outcome in chosen), default=0)
    return [_year(chosen, y) for y in range(years)]


def _year(chosen: Sequence[tuple[Compared, CareOutcome]], y: int) -> PlanYear:
    costs = [outcome.by_year[y].cost for _, outcome in chosen]
    mean = sum(cost.mean for cost in costs)
    spread = float(np.sqrt(sum(((cost.hi80 - cost.lo80) / WIDTH_80) ** 2 for cost in costs)))
    half = spread * WIDTH_80 / 2.0
    by_owner: dict[str, float] = {}
    by_kind: dict[str, float] = {}
    below = 0.0
    for (surface, outcome), cost in zip(chosen, costs, strict=True):
        _add(by_owner, surface.owner, cost.mean)
        for kind, share in _shares(surface, outcome).items():
            _add(by_kind, kind, share * cost.mean)
        below += surface.area_m2 * outcome.by_year[y].months_below / 12.0
    return PlanYear(mean, max(0.0, mean - half), mean + half, by_owner, by_kind, below)


def _add(sums: dict[str, float], key: str, amount: float) -> None:
    sums[key] = sums.get(key, 0.0) + amount


def _shares(surface: Compared, outcome: CareOutcome) -> Mapping[str, float]:
    """How a programme's money is divided among tests and methods, as over its whole time: no year's own is stored."""
    spent = {use.method.label: use.a_year * surface.prices.get(use.method.value, 0.0) for use in outcome.uses}
    tests = gettext(TESTS)
    spent[tests] = outcome.tests_a_year * surface.test
    total = sum(spent.values())
    return {kind: amount / total for kind, amount in spent.items() if amount > 0.0} if total else {tests: 1.0}


def worst_first(surfaces: Sequence[Compared], budget: float) -> Care:
    """What is compared with: those that would be below longest get what the rule advises, while the money lasts."""
    known = programmes_of(surfaces)
    rows = np.arange(len(surfaces))
    taken = known.cost.argmin(1)
    left = budget - float(known.cost[rows, taken].sum())
    for i in sorted(range(len(surfaces)), key=lambda i: -known.below[i, taken[i]] / surfaces[i].area_m2):
        advised = [outcome.kind for outcome in surfaces[i].outcomes].index(CareKind.ADVISED)
        more = known.cost[i, advised] - known.cost[i, taken[i]]
        if more <= left:
            taken[i], left = advised, left - more
    return Care(taken, 0.0, float(known.cost[rows, taken].sum()), float(known.below[rows, taken].sum()))
