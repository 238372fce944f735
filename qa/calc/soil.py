"""Soil infiltration tests before design, and the design rate that follows: measured over a safety factor."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short
from qa.calc.sources import Source, SourceStatus, looked_up

MIN_PER_H = 60.0
LEAST_FACTOR, USUAL_FACTOR, MOST_USUAL_FACTOR = 2.0, 2.5, 3.0
SAFETY_SOURCE = looked_up(
    gettext_noop("STEP bioretention sizing page: design rate = measured rate / safety factor of 2 to 3")
)
STEADY_WITHIN = 0.10  # common practice, no source
DOUBLE_RING_SOURCE = Source(gettext_noop("ASTM D3385, double ring, made for soils"), SourceStatus.LOOKED_UP)
PIT_SOURCE = Source(
    gettext_noop("balance of the water over the wetted floor and sides, the inverse of a bore hole"),
    SourceStatus.DERIVED,
)


class SoilTestMethod(TextChoice):
    """How the soil was tested."""

    DOUBLE_RING = "double_ring", "Double ring"
    PIT = "pit", "Test pit"


@dataclass(frozen=True, slots=True)
class SoilRun:
    """One fall of the water: levels above the floor of ring or pit (mm), and the minutes it took."""

    start_mm: float
    end_mm: float
    minutes: float


@dataclass(frozen=True, slots=True)
class SoilReadings(Payload):
    """The runs at one place in the order they were made."""

    SCHEMA: ClassVar[int] = 1

    runs: tuple[SoilRun, ...] = ()


@dataclass(frozen=True, slots=True)
class Pit:
    """A pit of upright sides, in plan (mm)."""

    length_mm: float
    width_mm: float

    @property
    def wall_share_per_mm(self) -> float:
        """Wetted side area over floor area, for each mm of water."""
        return 2 * (self.length_mm + self.width_mm) / (self.length_mm * self.width_mm)


@dataclass(frozen=True, slots=True)
class SoilRate:
    """What a test gives: the rate of each run and of the last one, which counts (mm/h)."""

    by_run_mm_h: tuple[float, ...]
    is_steady: bool

    @property
    def rate_mm_h(self) -> float:
        """The last run's: the soil takes most while it is dry."""
        return self.by_run_mm_h[-1]


def run_rate_mm_h(run: SoilRun, pit: Pit | None) -> float:
    """Rate of one run. In a pit water leaves through the sides too: the fall is divided by 1 + P H / A.

    P, A: perimeter and floor area; H: mean level of the run. Sources: DOUBLE_RING_SOURCE, PIT_SOURCE. Raises
    ImpossibleRecordError for readings that cannot be.
    """
    require_not_negative(gettext_noop("Level at the end"), run.end_mm, "mm")
    require_positive(
        gettext_noop("Time of the fall"),
        run.minutes,
        "min",
        gettext_noop("Enter the minutes between the two levels."),
    )
    if run.end_mm > run.start_mm:
        raise ImpossibleRecordError(
            _(
                "The water rose from {start} to {end} mm. Enter levels above the floor; if water was "
                "added, begin a new run."
            ).format(start=short(run.start_mm), end=short(run.end_mm))
        )
    fall_mm_h = (run.start_mm - run.end_mm) * MIN_PER_H / run.minutes
    if pit is None:
        return fall_mm_h
    sides = {gettext_noop("Length of the pit"): pit.length_mm, gettext_noop("Width of the pit"): pit.width_mm}
    for name, side in sides.items():
        require_positive(name, side, "mm", gettext_noop("Measure the floor of the pit."))
    return fall_mm_h / (1 + pit.wall_share_per_mm * (run.start_mm + run.end_mm) / 2)


def soil_rate(runs: Sequence[SoilRun], pit: Pit | None = None) -> SoilRate:
    """The rate at one place. Raises IncompleteRecordError without a run, ImpossibleRecordError for odd readings."""
    if not runs:
        raise IncompleteRecordError(
            _("A soil test needs at least 1 run, got 0. Enter two levels and the minutes between.")
        )
    rates = tuple(run_rate_mm_h(run, pit) for run in runs)
    steady = len(rates) > 1 and abs(rates[-1] - rates[-2]) <= STEADY_WITHIN * max(rates[-2:])
    return SoilRate(rates, steady)


def design_rate_mm_h(measured_mm_h: float, safety_factor: float) -> float:
    """Measured rate over the safety factor, 1 or more; ImpossibleRecordError for less. Source: SAFETY_SOURCE."""
    require_not_negative(gettext_noop("Measured soil rate"), measured_mm_h, "mm/h")
    if not safety_factor >= 1:
        raise ImpossibleRecordError(
            _(
                "A safety factor is 1 or more, got {factor}. It makes the design rate smaller; 2 to 3 is usual."
            ).format(factor=short(safety_factor))
        )
    return measured_mm_h / safety_factor


def measured_rate_needed_mm_h(design_mm_h: float, safety_factor: float | None) -> float:
    """What a test in the opened subgrade must show for a design rate; the least usual factor where none is recorded."""
    return design_mm_h * (safety_factor or LEAST_FACTOR)
