"""What the picture of a surface's decline is drawn from: what was measured, done and forecast, by day."""

from dataclasses import dataclass
from datetime import date

from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from maintenance.calc.forecast_payload import RateCurve


@dataclass(frozen=True, slots=True)
class MeasuredRate:
    """One test that gave a rate, at the place named."""

    on: date
    rate_mm_h: float
    bound: Bound
    place: str
    method: TestMethod


@dataclass(frozen=True, slots=True)
class RoundMean:
    """The geometric mean of one round of ring tests."""

    on: date
    mean_mm_h: float


@dataclass(frozen=True, slots=True)
class CleaningMark:
    """One cleaning, in words that say what it gave."""

    on: date
    what: str


@dataclass(frozen=True, slots=True)
class LimitReach:
    """First days with a chance of 10, 50 and 90 % of being below the limit; None: not within the forecast."""

    below_10_on: date | None
    below_50_on: date | None
    below_90_on: date | None


@dataclass(frozen=True, slots=True)
class DeclineRecord:
    """Everything in the picture. below: chance of being below the limit, one a day of `future`."""

    past: RateCurve
    future: RateCurve
    below: tuple[float, ...]
    tests: tuple[MeasuredRate, ...]
    rounds: tuple[RoundMean, ...]
    cleanings: tuple[CleaningMark, ...]
    limit_mm_h: float
    reach: LimitReach
    today: date
