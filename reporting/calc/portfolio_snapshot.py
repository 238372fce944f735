"""The page of a whole portfolio, gathered for one audience."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from accounts.calc.audience import Audience
from maintenance.calc.vocabulary import SurfaceState
from planning.calc.cost_months import CostMonths
from reporting.calc.parts import StateCount
from reporting.calc.portfolio import DueCount, Grouping, QuarterShare, Spread, StateGroup
from reporting.calc.values import Money


@dataclass(frozen=True, slots=True)
class MapSite:
    """A site where it lies, as its worst surface stands. surfaces: in use there."""

    key: UUID
    name: str
    latitude_deg: float
    longitude_deg: float
    state: SurfaceState
    surfaces: int


@dataclass(frozen=True, slots=True)
class SpentYear:
    """What cleanings of a year cost their owner, each currency by itself; unpriced: how many have no price."""

    year: int
    cleanings: int
    spent: tuple[Money, ...]
    unpriced: int


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours on site. done: of the last twelve months as crews told them, of so many tasks; untold: of so many not.

    ahead: as worked out for the advice that is still to be done.
    """

    done: float
    done_tasks: int
    untold: int
    ahead: float


@dataclass(frozen=True, slots=True)
class PortfolioSnapshot:
    """Everything the page says. spent, ahead: what owners read of money; costs, hours, clogs: what the firm reads.

    unplaced: sites without a position. declines, conditions: percent of the rate lost a year; gains: as natural
    logarithms of the rate after over the rate before.
    """

    audience: Audience
    today: date
    surfaces: int
    area_m2: float
    states: tuple[StateCount, ...]
    by: Grouping
    groups: Sequence[StateGroup]
    sites: tuple[MapSite, ...]
    unplaced: tuple[str, ...]
    due: tuple[DueCount, ...]
    trend: Sequence[QuarterShare]
    spent: tuple[SpentYear, ...] = ()
    ahead: tuple[Money, ...] = ()
    currency: str = ""
    costs: CostMonths | None = None
    hours: Hours | None = None
    declines: Sequence[Spread] = ()
    conditions: Sequence[Spread] = ()
    gains: Sequence[Spread] = ()
