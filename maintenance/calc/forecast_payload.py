"""What is kept of a surface's forecast beside the columns that lists need: curves, checks, gains and options."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import ClassVar

from core.calc.paving import CleaningMethod
from core.calc.payload import Payload, Upgrade
from maintenance.calc.actions import Option
from maintenance.calc.care_payload import CareComparison


@dataclass(frozen=True, slots=True)
class Range:
    """A median with its 80 % and 95 % ranges, in the unit of the field that holds it."""

    median: float
    lo80: float
    hi80: float
    lo95: float
    hi95: float


@dataclass(frozen=True, slots=True)
class RateCurve:
    """Rates in mm/h over days, all of one length. A cleaning has two points on one day."""

    on: tuple[date, ...]
    median: tuple[float, ...]
    lo80: tuple[float, ...]
    hi80: tuple[float, ...]
    lo95: tuple[float, ...]
    hi95: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RoundAgainstForecast:
    """One past round against the forecast made just before it; rates in mm/h.

    pit_lo, pit_hi: chance of a lower result than the one found; a range where bounds are in it.
    """

    on: date
    tests: int
    measured_mm_h: float
    expected_mm_h: Range
    pit_lo: float
    pit_hi: float


@dataclass(frozen=True, slots=True)
class GainOfCleaning:
    """What one past cleaning gave, as rate after over rate before.

    measured_factor: by the tests on both sides, None without them. factor: by the model, given all tests.
    """

    on: date
    method: CleaningMethod
    measured_factor: float | None
    factor: Range


@dataclass(frozen=True, slots=True)
class CauseOfDecline:
    """A recorded condition that speeds up clogging, by its name in the model.

    added_percent_a_year: what it adds to the yearly loss. percentile_without: share of surfaces alike but for it that
    lose their rate more slowly.
    """

    condition: str
    added_percent_a_year: Range
    percentile_without: float


@dataclass(frozen=True, slots=True)
class SourceWorth:
    """What stopping the source of sediment is expected to give from the day the forecast was made.

    loss_without, loss_with: percent of the rate in the coming year. below_50_without, below_50_with: first days with an
    even chance of being below the limit, None: not within the forecast.
    """

    loss_without: Range
    loss_with: Range
    below_50_without: date | None
    below_50_with: date | None


@dataclass(frozen=True, slots=True)
class ForecastOutlook(Payload):
    """One surface as the model sees it, if nothing is done from the day the forecast was made.

    rate_now_mm_h, decline_percent_a_year: today's rate and the loss of the coming year
    decline_percentile: share of surfaces of its kind under the same conditions that lose their rate more slowly, 0 to 1
    decline_percentile_plain: the same among surfaces on which no condition is recorded
    recorded_causes: conditions recorded here, the one that adds most first; source_stopped_on: where that changed since
    source_worth: what stopping the sediment would give, where something says that it keeps coming
    past, future: from the opening to today and on; below: chance of being below the limit, one a day of `future`
    options: what each method offered would give if it were used on `options_on`
    care: programmes of care compared by what they cost and give; None where an earlier edition stored it
    care_on: the day they were compared from
    """

    SCHEMA: ClassVar[int] = 2
    # What the first schema lacks is made with the next forecast, which another schema calls for.
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType({1: dict})

    rate_now_mm_h: Range
    decline_percent_a_year: Range
    decline_percentile: float
    past: RateCurve
    future: RateCurve
    below: tuple[float, ...]
    rounds: tuple[RoundAgainstForecast, ...]
    gains: tuple[GainOfCleaning, ...]
    options: tuple[Option, ...]
    options_on: date
    decline_percentile_plain: float | None = None
    recorded_causes: tuple[CauseOfDecline, ...] = ()
    source_stopped_on: date | None = None
    source_worth: SourceWorth | None = None
    care: CareComparison | None = None
    care_on: date | None = None
