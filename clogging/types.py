"""What goes into the clogging model and what comes out of it.

Times are years since the surface was opened, rates are mm/h, and all ranges are of the areal
geometric mean rate as a constant-head ring would read it, unless a docstring says otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

from core.calc.paving import CleaningMethod, SourceChange, SurfaceType, TestMethod

# The model takes the words that are stored, so that a caller hands over what it has.
SURFACE_TYPES: tuple[str, ...] = tuple(SurfaceType.values)
CLEANING_METHODS: tuple[str, ...] = tuple(CleaningMethod.values)

# Test methods that give a rate; the ring first, the reference that all others are offset against.
TEST_METHODS: tuple[str, ...] = (
    TestMethod.RING.value,
    TestMethod.FALLING_HEAD.value,
    TestMethod.SQUARE_DOUBLE_RING.value,
    TestMethod.FLOODING.value,
    TestMethod.FRAME.value,
)

RENEWING_METHODS = (
    "mill",
    "relay",
)  # a new top layer or new bedding and joints: the rate as new is drawn anew

# Stopped: soil, planting or sand that washed on to the surface is kept off from now on. Started: building work, new
# planting or another source of fines begins.
SOURCE_CHANGES: tuple[str, ...] = tuple(SourceChange.values)

CONDITIONS = ("run_on_ratio", "bare_soil", "trees", "winter_grit", "traffic")


class Conditions(NamedTuple):
    """What reaches the surface besides rain.

    run_on_ratio: area draining on to the surface over its own area [-], 0 or more
    bare_soil: bare soil or planting drains onto it
    trees: tree crowns over or beside it
    winter_grit: gritted or sanded in winter
    traffic: 0 foot, 1 cars, 2 heavy vehicles, as in core.calc.paving.Traffic
    """

    run_on_ratio: float = 0.0
    bare_soil: bool = False
    trees: bool = False
    winter_grit: bool = False
    traffic: int = 0


class SpotTest(NamedTuple):
    """One infiltration test at one spot.

    rate_mm_h: surface infiltration rate, above 0
    bound: "=" a reading; "<" the true rate is below (still ponded when stopped);
        ">" the true rate is above (drained too fast to hold the head)
    location: name of a fixed location tested again and again, None for a spot chosen that day
    weight: the area it stands for, in any unit; alike for all spots unless zones of known area were tested
    """

    rate_mm_h: float
    bound: str = "="
    location: str | None = None
    weight: float = 1.0


class RoundEvent(NamedTuple):
    """All tests of one surface on one day by one method."""

    t_yr: float
    method: str
    tests: tuple[SpotTest, ...]


class CleaningEvent(NamedTuple):
    """One cleaning: share is the fraction of the area done, above 0 up to 1; wet is the surface then."""

    t_yr: float
    method: str
    share: float = 1.0
    wet: bool = False


class SourceEvent(NamedTuple):
    """A source of sediment stops or begins on this day, and the decline changes with it. kind: of SOURCE_CHANGES."""

    t_yr: float
    kind: str


Event = RoundEvent | CleaningEvent | SourceEvent


class SurfaceHistory(NamedTuple):
    """Everything the model reads about one surface.

    conditions: as they were before the first SourceEvent; the events say what changed after it
    Events in order of time; on one day in the order done, so a round before a cleaning stands before it.
    """

    surface_type: str
    conditions: Conditions
    events: tuple[Event, ...] = ()


class Estimate(NamedTuple):
    """A median with its 80 % and 95 % ranges, all in the unit of the field that holds it."""

    median: float
    lo80: float
    hi80: float
    lo95: float
    hi95: float
