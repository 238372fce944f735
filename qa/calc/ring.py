"""Constant-head single-ring infiltration test on permeable paving.

Sources: ASTM C1701/C1701M (in-place pervious concrete), ASTM C1781/C1781M (unit pavement), the
same procedure in NBR 16416:2015. Looked up: scope, two unit systems kept apart, start within
2 minutes of prewetting, head between lines at 10 and 15 mm, 18 kg when prewetting took under
30 s. From memory: the printed constants and the tolerances; verify against the current edition.
"""

from dataclasses import dataclass

from core.calc.bounds import Bound
from core.calc.choices import TextChoice
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem, in_h_to_mm_h
from core.errors import ImpossibleRecordError
from qa.calc.deviations import Deviation, deviation, require_not_negative, require_positive
from qa.calc.numbers import short
from qa.calc.validity import concluded

RING_TEST_DOCUMENT = "ASTM C1701/C1701M and C1781/C1781M"
RING_TEST_SOURCE = gettext_noop("ASTM C1701/C1701M and C1781/C1781M; constants and tolerances from memory")

PREWET_SWITCH_S = 30.0
LONGEST_START_DELAY_S = 120.0
LONGEST_REPEAT_GAP_MIN = 5.0
MOST_TESTS_PER_SPOT_AND_DAY = 2
LEAST_PREWET_SHARE = 0.5  # of the mass asked; with less the spot is as good as dry; our judgement, no source


class Ending(TextChoice):
    """How a test came to its end."""

    DRAINED = "drained", "No free water was left"
    STILL_PONDED = "still_ponded", "Still ponded when stopped"
    TOO_FAST = "too_fast", "Drained too fast to hold the head"


class Seal(TextChoice):
    """What keeps the water from running out under the ring."""

    PUTTY = "putty", "Plumber's putty"
    CLAY = "clay", "Modelling clay"
    SILICONE = "silicone", "Silicone"
    FOAM = "foam", "Foam or rubber ring"
    OTHER = "other", "Other (say in the note)"


BOUND_BY_ENDING = {
    Ending.DRAINED: Bound.EXACT,
    Ending.STILL_PONDED: Bound.BELOW,
    Ending.TOO_FAST: Bound.ABOVE,
}


@dataclass(frozen=True, slots=True)
class RingProcedure:
    """The numbers of the test in one unit system.

    constant: K in rate = K·M/(D²·t); (mm³·s)/(kg·h) or (in³·s)/(lb·h). From memory.
    Lengths are in mm or in, masses in kg or lb, the rate in mm/h or in/h.
    """

    constant: float
    diameter_min: float
    diameter_max: float
    diameter_nominal: float
    small_mass: float
    large_mass: float
    small_mass_tolerance: float
    large_mass_tolerance: float
    head_low: float
    head_high: float
    length_unit: str
    mass_unit: str
    rate_unit: str


PROCEDURES = {
    UnitSystem.SI: RingProcedure(
        constant=4_583_666_000.0,
        diameter_min=290.0,
        diameter_max=310.0,
        diameter_nominal=300.0,
        small_mass=3.60,
        large_mass=18.00,
        small_mass_tolerance=0.05,
        large_mass_tolerance=0.05,
        head_low=10.0,
        head_high=15.0,
        length_unit="mm",
        mass_unit="kg",
        rate_unit="mm/h",
    ),
    UnitSystem.US: RingProcedure(
        constant=126_870.0,
        diameter_min=11.5,
        diameter_max=12.5,
        diameter_nominal=12.0,
        small_mass=8.00,
        large_mass=40.00,
        small_mass_tolerance=0.10,
        large_mass_tolerance=0.10,
        head_low=0.40,
        head_high=0.60,
        length_unit="in",
        mass_unit="lb",
        rate_unit="in/h",
    ),
}


@dataclass(frozen=True, slots=True)
class RingReading:
    """One ring test as it was taken. Lengths in mm or in, masses in kg or lb, by `system`.

    prewet_mass, prewet_time_s, start_delay_s: None where nothing was recorded.
    start_delay_s: from the end of prewetting (or of the first test) to the start of this one.
    elapsed_s: from water meeting the surface until none stands, or until the test was stopped.
    sequence: 1 for the first test at this spot that day.
    minutes_since_first: from the end of the first test at the spot to the start of this one.
    rewetted: whether the spot was prewetted for this very test.
    leak_seen: whether water left past the seal.
    first_prewet_time_s: prewet time of the first test at the spot, which chooses the mass of a repeat too.
    """

    system: UnitSystem
    prewet_mass: float | None
    prewet_time_s: float | None
    start_delay_s: float | None
    test_mass: float
    ring_diameter: float
    elapsed_s: float
    ending: Ending = Ending.DRAINED
    sequence: int = 1
    minutes_since_first: float | None = None
    rewetted: bool = True
    leak_seen: bool = False
    first_prewet_time_s: float | None = None

    @property
    def deciding_prewet_time_s(self) -> float | None:
        """The prewet time that decides the mass: its own, or for a repeat without prewetting that of the first."""
        if self.prewet_time_s is not None or self.rewetted:
            return self.prewet_time_s
        return self.first_prewet_time_s

    @property
    def procedure(self) -> RingProcedure:
        """The numbers of the test in this reading's own unit system."""
        return PROCEDURES[self.system]


@dataclass(frozen=True, slots=True)
class RingResult:
    """The rate of one test over the gross area of the ring, joints and units together.

    rate: in `unit`, the reading's own unit system. bound: whether the true rate is it, below or above it.
    """

    rate: float
    unit: str
    rate_mm_h: float
    bound: Bound
    deviations: tuple[Deviation, ...]


def ring_rate(mass: float, diameter: float, elapsed_s: float, system: UnitSystem) -> float:
    """Rate of infiltration in mm/h or in/h, by the constant of its own unit system.

    mass: recorded mass of water, kg or lb. diameter: measured inside diameter, mm or in.

    Source: ASTM C1701/C1701M and C1781/C1781M, I = K·M/(D²·t); K from memory. The SI constant
    lies within 1 ppm of 3600·10⁶·4/π; the printed US one is 0.004 % low, and is used as printed.
    """
    procedure = PROCEDURES[system]
    require_positive(
        gettext_noop("Mass of water"),
        mass,
        procedure.mass_unit,
        gettext_noop("Enter the mass that was poured."),
    )
    require_positive(
        gettext_noop("Ring diameter"),
        diameter,
        procedure.length_unit,
        gettext_noop("Measure the inside of the ring."),
    )
    require_positive(
        gettext_noop("Elapsed time"),
        elapsed_s,
        "s",
        gettext_noop("Enter the time from first contact until no water stands."),
    )
    return procedure.constant * mass / (diameter**2 * elapsed_s)


def time_for_rate_s(rate: float, mass: float, diameter: float, system: UnitSystem) -> float:
    """Seconds that a mass of water takes at a rate; a test still ponded by then is below that rate."""
    procedure = PROCEDURES[system]
    require_positive(
        gettext_noop("Rate"), rate, procedure.rate_unit, gettext_noop("Enter the rate to be told apart.")
    )
    return ring_rate(mass, diameter, 1.0, system) / rate


def required_test_mass(prewet_time_s: float, system: UnitSystem) -> float:
    """Mass of water for the test, kg or lb: the large one when prewetting took under 30 s.

    Source: ASTM C1701/C1701M (from memory); the 18 kg branch also in NBR 16416:2015 (looked up).
    """
    require_not_negative(gettext_noop("Prewet time"), prewet_time_s, "s")
    procedure = PROCEDURES[system]
    return procedure.large_mass if prewet_time_s < PREWET_SWITCH_S else procedure.small_mass


def evaluate_ring(reading: RingReading) -> RingResult:
    """The rate of a reading, whether it is a bound, and every deviation from the method."""
    _refuse_impossible(reading)
    _refuse_mixed_units(reading)
    rate = ring_rate(reading.test_mass, reading.ring_diameter, reading.elapsed_s, reading.system)
    in_mm_h = rate if reading.system is UnitSystem.SI else in_h_to_mm_h(rate)
    found = tuple(found for check in _CHECKS for found in check(reading))
    ended = BOUND_BY_ENDING[reading.ending]
    bound, deviations = concluded(ended, found, in_mm_h, TestMethod.RING, reading.system)
    return RingResult(rate, reading.procedure.rate_unit, in_mm_h, bound, deviations)


def _refuse_impossible(reading: RingReading) -> None:
    if reading.sequence < 1:
        raise ImpossibleRecordError(
            _("The first test at a spot has number 1, got {number}. Count from 1.").format(
                number=reading.sequence
            )
        )
    if reading.prewet_mass is not None:
        advice = gettext_noop("Leave it empty if the spot was not prewetted.")
        require_positive(
            gettext_noop("Prewet mass"), reading.prewet_mass, reading.procedure.mass_unit, advice
        )
    times = {
        gettext_noop("Prewet time"): (reading.prewet_time_s, "s"),
        gettext_noop("Prewet time of the first test"): (reading.first_prewet_time_s, "s"),
        gettext_noop("Start delay"): (reading.start_delay_s, "s"),
        gettext_noop("Time since the first test"): (reading.minutes_since_first, "min"),
    }
    for name, (value, unit) in times.items():
        if value is not None:
            require_not_negative(name, value, unit)


def _refuse_mixed_units(reading: RingReading) -> None:
    """Numbers that are plainly those of the other system: the two must not be mixed in one test."""
    own, other = reading.procedure, PROCEDURES[_other(reading.system)]
    if other.diameter_min <= reading.ring_diameter <= other.diameter_max:
        raise ImpossibleRecordError(
            _mixed(gettext_noop("Ring diameter"), reading.ring_diameter, own.length_unit, other.length_unit)
        )
    masses = {gettext_noop("Prewet mass"): reading.prewet_mass, gettext_noop("Test mass"): reading.test_mass}
    for name, mass in masses.items():
        if mass is not None and _near_nominal(mass, other) and not _near_nominal(mass, own):
            raise ImpossibleRecordError(_mixed(name, mass, own.mass_unit, other.mass_unit))


def _other(system: UnitSystem) -> UnitSystem:
    return UnitSystem.US if system is UnitSystem.SI else UnitSystem.SI


def _near_nominal(mass: float, procedure: RingProcedure) -> bool:
    small = abs(mass - procedure.small_mass) <= procedure.small_mass_tolerance
    return small or abs(mass - procedure.large_mass) <= procedure.large_mass_tolerance


def _mixed(name: str, value: float, own_unit: str, other_unit: str) -> str:
    said = _(
        "{name} {value} {unit} looks like {value} {other_unit}. "
        "Enter the whole test in one unit system; the two must not be mixed in one test."
    )
    return said.format(name=_(name), value=short(value), unit=own_unit, other_unit=other_unit)


def _check_diameter(reading: RingReading) -> list[Deviation]:
    p = reading.procedure
    if p.diameter_min <= reading.ring_diameter <= p.diameter_max:
        return []
    found = deviation(
        "ring_diameter",
        reading.ring_diameter,
        gettext_noop("{least} to {most}"),
        gettext_noop(
            "Ring diameter {diameter} is outside {least} to {most}. "
            "Use a ring of the standard size; the rate was computed with the diameter as measured."
        ),
        diameter=f"{reading.ring_diameter:g} {p.length_unit}",
        least=f"{p.diameter_min:g}",
        most=f"{p.diameter_max:g} {p.length_unit}",
    )
    return [found]


def _check_prewet(reading: RingReading) -> list[Deviation]:
    p = reading.procedure
    if reading.rewetted and reading.prewet_time_s is None:
        said = gettext_noop(
            "No prewetting was recorded. Prewet with {mass} and time it, so that the right test mass can be chosen."
        )
        allowed = gettext_noop("prewetted and timed")
        return [deviation("prewet_missing", None, allowed, said, mass=f"{p.small_mass:g} {p.mass_unit}")]
    if reading.prewet_mass is None or _within(reading.prewet_mass, p.small_mass, p.small_mass_tolerance):
        return []
    least, most = _mass_range(p.small_mass, p.small_mass_tolerance, p.mass_unit)
    too_little = reading.prewet_mass < LEAST_PREWET_SHARE * p.small_mass
    said = gettext_noop(
        "Prewet mass {mass} is outside {least} to {most}. Weigh the prewet water; its time decides the test mass."
    )
    found = deviation(
        "prewet_too_little" if too_little else "prewet_mass",
        reading.prewet_mass,
        gettext_noop("{least} to {most}"),
        said,
        mass=f"{reading.prewet_mass:g} {p.mass_unit}",
        least=least,
        most=most,
    )
    return [found]


def _check_test_mass(reading: RingReading) -> list[Deviation]:
    p = reading.procedure
    used_large = reading.test_mass > (p.small_mass + p.large_mass) / 2
    nominal = p.large_mass if used_large else p.small_mass
    tolerance = p.large_mass_tolerance if used_large else p.small_mass_tolerance
    found = [] if _within(reading.test_mass, nominal, tolerance) else [_mass_off(reading)]
    return found + _check_mass_rule(reading, nominal)


def _mass_off(reading: RingReading) -> Deviation:
    p = reading.procedure
    low, high = _mass_range(p.small_mass, p.small_mass_tolerance, p.mass_unit)
    large_low, large_high = _mass_range(p.large_mass, p.large_mass_tolerance, p.mass_unit)
    return deviation(
        "test_mass",
        reading.test_mass,
        gettext_noop("{low} to {high} or {large_low} to {large_high}"),
        gettext_noop(
            "Test mass {mass} is outside {low} to {high} or {large_low} to {large_high}. "
            "The rate was computed with the mass as recorded; weigh the water next time."
        ),
        mass=f"{reading.test_mass:g} {p.mass_unit}",
        low=low,
        high=high,
        large_low=large_low,
        large_high=large_high,
    )


def _check_mass_rule(reading: RingReading, used: float) -> list[Deviation]:
    time = reading.deciding_prewet_time_s
    if time is None:
        return []
    required = required_test_mass(time, reading.system)
    if required == used:
        return []
    unit = reading.procedure.mass_unit
    said = gettext_noop(
        "Prewetting took {time}, which asks for {asked}, but the test used {mass}. Repeat with {asked} "
        "({switch} or more: the small mass; less: the large mass)."
    )
    found = deviation(
        "mass_for_prewet_time" if required > used else "more_water_than_asked",
        reading.test_mass,
        "{asked}",
        said,
        time=f"{time:g} s",
        asked=f"{required:g} {unit}",
        mass=f"{reading.test_mass:g} {unit}",
        switch=f"{PREWET_SWITCH_S:g} s",
    )
    return [found]


def _check_start_delay(reading: RingReading) -> list[Deviation]:
    delay = reading.start_delay_s
    if delay is None or not reading.rewetted or delay <= LONGEST_START_DELAY_S:
        return []
    allowed = gettext_noop("at most {most}")
    said = gettext_noop(
        "The test started {delay} after prewetting ended; at most {most} is allowed. "
        "Prewet again and start sooner, since a surface that dries takes water faster."
    )
    most = f"{LONGEST_START_DELAY_S:g} s"
    return [deviation("start_delay", delay, allowed, said, delay=f"{delay:g} s", most=most)]


def _check_repeats(reading: RingReading) -> list[Deviation]:
    if reading.sequence <= MOST_TESTS_PER_SPOT_AND_DAY:
        return []
    allowed = gettext_noop("at most {most} tests")
    said = gettext_noop(
        "This is test {number} at this spot that day; at most {most} tests a day are allowed. "
        "Test another spot, or come back on another day."
    )
    number, most = f"{reading.sequence}", f"{MOST_TESTS_PER_SPOT_AND_DAY}"
    return [deviation("too_many_tests", float(number), allowed, said, number=number, most=most)]


def _check_repeat_gap(reading: RingReading) -> list[Deviation]:
    if reading.sequence == 1 and not reading.rewetted:
        said = gettext_noop(
            "The first test at a spot was run without prewetting. Prewet the spot and repeat the test."
        )
        return [deviation("not_prewetted", None, gettext_noop("prewetted before the first test"), said)]
    if reading.sequence == 1 or reading.rewetted:
        return []
    gap = reading.minutes_since_first
    if gap is not None and gap <= LONGEST_REPEAT_GAP_MIN:
        return []
    return [_repeated_late(gap)]


def _repeated_late(gap: float | None) -> Deviation:
    allowed, most = gettext_noop("at most {most} after the first"), f"{LONGEST_REPEAT_GAP_MIN:g} min"
    if gap is None:
        said = gettext_noop(
            "The repeat without new prewetting started at an unrecorded time after the first test; at most {most} "
            "after the first is allowed. Prewet again before a later repeat."
        )
        return deviation("repeat_gap", None, allowed, said, most=most)
    said = gettext_noop(
        "The repeat without new prewetting started {gap} after the first test; at most {most} after the first is "
        "allowed. Prewet again before a later repeat."
    )
    return deviation("repeat_gap", gap, allowed, said, gap=f"{gap:g} min", most=most)


def leak_deviation() -> Deviation:
    """Water that left past the seal: it never went through the tested area, so the rate reads too high."""
    said = gettext_noop(
        "Water left past the seal, so the rate is at most this. Seal again and repeat the test, "
        "then set this one aside."
    )
    return deviation("leak", None, gettext_noop("no water past the seal"), said)


def _check_leak(reading: RingReading) -> list[Deviation]:
    return [leak_deviation()] if reading.leak_seen else []


def _within(value: float, nominal: float, tolerance: float) -> bool:
    return abs(value - nominal) <= tolerance + 1e-9  # 3.65 - 3.60 is a hair over 0.05 in binary


def _mass_range(nominal: float, tolerance: float, unit: str) -> tuple[str, str]:
    return f"{nominal - tolerance:.2f}", f"{nominal + tolerance:.2f} {unit}"


_CHECKS = (
    _check_diameter,
    _check_prewet,
    _check_test_mass,
    _check_start_delay,
    _check_repeats,
    _check_repeat_gap,
    _check_leak,
)
