"""A firm's or an owner's care over ten years within a yearly sum, from what was compared surface by surface."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import msgspec
import numpy as np

from core.calc.paving import CleaningMethod
from core.calc.payload import from_text
from core.calc.translation import gettext, gettext_noop
from maintenance.calc.care_payload import CareKind, CareYear, Spread, Use
from maintenance.calc.deciding.budget import Care, Programmes
from maintenance.calc.deciding.problem import Floats

TESTS = gettext_noop("Tests")
WIDTH_80 = 2.563  # of the 80 % range of a normal distribution, in standard deviations


@dataclass(frozen=True, slots=True)
class Offer:
    """What is read of one stored programme of care. by_year: `CareYear`s, of which only those chosen are read."""

    kind: CareKind
    cost_a_year: Spread
    months_below: float
    uses: tuple[Use, ...]
    tests_a_year: float
    by_year: msgspec.Raw


@dataclass(frozen=True, slots=True)
class Comparison:
    """What is read of a stored `CareComparison`: ten thousand of them in full would fill a server's memory."""

    below_price_m2_yr: float
    outcomes: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """One surface with what was compared for it. prices: of one cleaning by method; test: of one round.

    offers: what can be chosen; stopping the sediment is not care that is bought again each year
    """

    name: str
    owner: str
    area_m2: float
    comparison: Comparison
    prices: Mapping[CleaningMethod, float]
    test: float
    offers: tuple[Offer, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Take out once what is asked for with each sum."""
        bought = (each for each in self.comparison.outcomes if each.kind is not CareKind.SOURCE)
        object.__setattr__(self, "offers", tuple(bought))


@dataclass(frozen=True, slots=True)
class Offers:
    """What S surfaces can choose from, at most P programmes each.

    area_m2: (S,); below_m2: (S, P) area times the share of time below the limit
    known: money, and the time below at its price
    """

    area_m2: Floats
    below_m2: Floats
    known: Programmes

    def below_share(self, care: Care) -> float:
        """The share of area and time below the limit."""
        below = self.below_m2[np.arange(len(care.taken)), care.taken].sum()
        return float(below / max(self.area_m2.sum(), 1e-9))


@dataclass(frozen=True, slots=True)
class PlanYear:
    """One year of all surfaces. low, high: the 80 % range, each surface's futures taken as independent of others'."""

    mean: float
    low: float
    high: float
    by_owner: Mapping[str, float]
    by_kind: Mapping[str, float]
    below_m2_yr: float


def offers_of(surfaces: Sequence[Compared]) -> Offers:
    """The arrays that a choice is made from, of means a year."""
    most = max((len(surface.offers) for surface in surfaces), default=0)
    cost, months = np.full((len(surfaces), most), np.inf), np.zeros((len(surfaces), most))
    for i, surface in enumerate(surfaces):
        for p, offer in enumerate(surface.offers):
            cost[i, p], months[i, p] = offer.cost_a_year.mean, offer.months_below
    area = np.array([surface.area_m2 for surface in surfaces])
    price = np.array([surface.comparison.below_price_m2_yr for surface in surfaces])
    below = area[:, None] * months / 12.0
    return Offers(area, below, Programmes(cost, price[:, None] * below))


def plan_years(surfaces: Sequence[Compared], care: Care) -> list[PlanYear]:
    """Year by year what the chosen programmes cost and leave below."""
    chosen = [surface.offers[p] for surface, p in zip(surfaces, care.taken, strict=True)]
    mean, low, high, months = _by_year(chosen)
    half = np.sqrt((((high - low) / WIDTH_80) ** 2).sum(0)) * WIDTH_80 / 2.0
    below = np.array([surface.area_m2 for surface in surfaces]) @ months / 12.0
    owners = _summed([{surface.owner: 1.0} for surface in surfaces], mean)
    kinds = _summed([_shares(*each) for each in zip(surfaces, chosen, strict=True)], mean)
    every = mean.sum(0)
    return [
        PlanYear(
            float(every[y]),
            max(0.0, float(every[y] - half[y])),
            float(every[y] + half[y]),
            {name: float(sums[y]) for name, sums in owners.items()},
            {name: float(sums[y]) for name, sums in kinds.items()},
            float(below[y]),
        )
        for y in range(len(every))
    ]


def _by_year(offers: Sequence[Offer]) -> Floats:
    """(4, S, Y) mean money, its 80 % range, months below."""
    read = [from_text(tuple[CareYear, ...], bytes(offer.by_year)) for offer in offers]
    years = min(map(len, read), default=0)
    rows = [(y.cost.mean, y.cost.lo80, y.cost.hi80, y.months_below) for each in read for y in each[:years]]
    return np.moveaxis(np.array(rows, dtype=float).reshape(len(offers), years, 4), 2, 0)


def _summed(shares: Sequence[Mapping[str, float]], money: Floats) -> dict[str, Floats]:
    """Under each name (Y,) what its shares of money (S, Y) come to; names as they come."""
    found: dict[str, Floats] = {}
    for row, parts in zip(money, shares, strict=True):
        for name, share in parts.items():
            found[name] = found.get(name, 0.0) + share * row
    return found


def _shares(surface: Compared, offer: Offer) -> Mapping[str, float]:
    """How a programme's money is divided among tests and methods, as over its whole time: no year's own is stored."""
    spent = {use.method.label: use.a_year * surface.prices.get(use.method, 0.0) for use in offer.uses}
    tests = gettext(TESTS)
    spent[tests] = offer.tests_a_year * surface.test
    total = sum(spent.values())
    return {kind: amount / total for kind, amount in spent.items() if amount > 0.0} if total else {tests: 1.0}


def worst_first(surfaces: Sequence[Compared], budget: float) -> Care:
    """What is compared with: those that would be below longest get what the rule advises, while the money lasts."""
    known = offers_of(surfaces).known
    rows = np.arange(len(surfaces))
    taken = known.cost.argmin(1)
    left = budget - float(known.cost[rows, taken].sum())
    for i in sorted(range(len(surfaces)), key=lambda i: -known.below[i, taken[i]] / surfaces[i].area_m2):
        advised = [offer.kind for offer in surfaces[i].offers].index(CareKind.ADVISED)
        more = known.cost[i, advised] - known.cost[i, taken[i]]
        if more <= left:
            taken[i], left = advised, left - more
    return Care(taken, 0.0, float(known.cost[rows, taken].sum()), float(known.below[rows, taken].sum()))
