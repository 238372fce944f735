"""Field methods other than the single ring: what each gives, and what it can be turned into.

A method's own result is always kept. A value converted to the ring test is given with the
published range and marked as converted; methods without a published relation are not converted.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import log, sqrt
from statistics import fmean

from core.calc.paving import TestMethod
from core.calc.units import S_PER_H
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.deviations import Deviation, require_not_negative, require_positive
from qa.calc.sources import Source, SourceStatus
from qa.calc.standards import ring_standard

SQUARE_RING_DROP_MM = 20.0
_DROP_READ_TO_MM = 0.5  # a drop marked in inches is 20 mm to this
FEWEST_FLOODINGS = 3
LEVEL_WITHIN = 1.25  # slowest to fastest of the floodings that count; our judgement, no source
FRAME_EQUALS_RING_UP_TO_MM_H = 15_000.0
FAR_SPREAD_TIMES = 1.5
_ADVICE = "Check the entry."


class Gives(StrEnum):
    """What a method's result may be used for."""

    RATE = "rate"
    SCREENING = "screening"
    RELATIVE = "relative"


@dataclass(frozen=True, slots=True)
class MethodFacts:
    """A method with what it gives, a caution for the screen, and its source."""

    gives: Gives
    caution: str
    source: Source


METHODS: dict[TestMethod, MethodFacts] = {
    TestMethod.RING: MethodFacts(
        Gives.RATE,
        "Valid for the tested spot and day.",
        Source("ASTM C1701/C1701M, C1781/C1781M; NBR 16416:2015", SourceStatus.FROM_MEMORY),
    ),
    TestMethod.FALLING_HEAD: MethodFacts(
        Gives.RATE,
        "Reads 2 to 10 times as much as the ring test; never in one trend with it.",
        Source("Darcy's law for a falling head, k = aL/(At)·ln(h1/h2)", SourceStatus.DERIVED),
    ),
    TestMethod.SQUARE_DOUBLE_RING: MethodFacts(
        Gives.RATE,
        "The rate is the time for a drop of 20 mm; no published conversion to the ring test.",
        Source("9th Int. Conf. on Concrete Block Paving, 2009, after AS 4693.5-2004", SourceStatus.LOOKED_UP),
    ),
    TestMethod.FLOODING: MethodFacts(
        Gives.RATE,
        "A saturated rate over a whole section; unsaturated rates differ from it by up to 300 %.",
        Source(
            "Boogaard et al. 2014, Water 6(7):2070; Boogaard & Lucke 2019, Water 11(2):320",
            SourceStatus.LOOKED_UP,
        ),
    ),
    TestMethod.FRAME: MethodFacts(
        Gives.RATE,
        "About equal to the ring test up to 15 000 mm/h; above that the relation is not known to us.",
        Source("Winston et al. 2016, J. Environ. Eng. 142 (873 tests, 12 pavements)", SourceStatus.LOOKED_UP),
    ),
    TestMethod.SPREADING_AREA: MethodFacts(
        Gives.SCREENING,
        "Screening only: it never gives a rate. Follow a poor result with a ring test.",
        Source("Lucke et al. 2015, Water 7(6):2542 (r = -0.714 with the ring test)", SourceStatus.LOOKED_UP),
    ),
    TestMethod.OUTFLOW_METER: MethodFacts(
        Gives.RELATIVE,
        "A relative conductivity in 1/s; compare it only with itself. Not on a frozen surface.",
        Source("EN 12697-40:2020, outflow meter", SourceStatus.FROM_MEMORY),
    ),
}


def facts_on(method: TestMethod, surface_type: str) -> MethodFacts:
    """A method's facts; the ring test by the standard that is written for the surface."""
    facts = METHODS[method]
    return replace(facts, source=ring_standard(surface_type)) if method is TestMethod.RING else facts


# Screening and relative results are shown, but there is no rate in them to count.
WITHOUT_RATE = tuple(method for method, facts in METHODS.items() if facts.gives is not Gives.RATE)


@dataclass(frozen=True, slots=True)
class MethodRate:
    """A rate by a method other than the ring, with deviations from that method."""

    method: TestMethod
    rate_mm_h: float
    deviations: tuple[Deviation, ...] = ()


@dataclass(frozen=True, slots=True)
class Converted:
    """A rate turned into what the ring test might have shown.

    low_mm_h, high_mm_h: the published range; None where the source gives none that we could see.
    """

    low_mm_h: float | None
    middle_mm_h: float
    high_mm_h: float | None
    source: Source
    converted: bool = True


@dataclass(frozen=True, slots=True)
class FloodRun:
    """One flooding of a dammed section: water level at two times, lengths in mm, time in s."""

    start_mm: float
    end_mm: float
    elapsed_s: float


@dataclass(frozen=True, slots=True)
class Screening:
    """A bucket poured out: wetted area a litre, and how that compares with the same spot when new."""

    area_m2_per_l: float
    times_reference: float | None
    advice: str


def drop_rate_mm_h(drop_mm: float, elapsed_s: float) -> float:
    """Rate in mm/h at which a water level falls."""
    require_positive("Drop of the water level", drop_mm, "mm", _ADVICE)
    require_positive("Elapsed time", elapsed_s, "s", _ADVICE)
    return drop_mm / elapsed_s * S_PER_H


def falling_head_rate(
    standpipe_area_mm2: float,
    contact_area_mm2: float,
    layer_thickness_mm: float,
    elapsed_s: float,
    head_start_mm: float,
    head_end_mm: float,
) -> MethodRate:
    """Conductivity in mm/h by the falling-head standpipe, k = aL/(At)·ln(h1/h2).

    standpipe_area_mm2: a, of the tier the water fell in. contact_area_mm2: A, of the sealed base.

    Source: Darcy's law for a falling head (from memory).
    """
    require_positive("Standpipe area", standpipe_area_mm2, "mm²", _ADVICE)
    require_positive("Contact area", contact_area_mm2, "mm²", _ADVICE)
    require_positive(
        "Layer thickness", layer_thickness_mm, "mm", "Measure a core or take it from the record."
    )
    require_positive("Elapsed time", elapsed_s, "s", _ADVICE)
    require_positive(
        "Head at the end", head_end_mm, "mm", "Stop the watch while water still stands in the pipe."
    )
    if not head_start_mm > head_end_mm:
        raise ImpossibleRecordError(
            f"The head must fall, but went from {head_start_mm:g} to {head_end_mm:g} mm. Enter the higher one first."
        )
    share = standpipe_area_mm2 * layer_thickness_mm / (contact_area_mm2 * elapsed_s)
    return MethodRate(TestMethod.FALLING_HEAD, share * log(head_start_mm / head_end_mm) * S_PER_H)


def square_ring_rate(drop_mm: float, elapsed_s: float) -> MethodRate:
    """Rate by the square double ring, from the time of a 20 mm drop in the inner frame.

    Source: 9th International Conference on Concrete Block Paving, 2009, after AS 4693.5-2004 (looked up).
    """
    rate = drop_rate_mm_h(drop_mm, elapsed_s)
    if abs(drop_mm - SQUARE_RING_DROP_MM) <= _DROP_READ_TO_MM:
        return MethodRate(TestMethod.SQUARE_DOUBLE_RING, rate)
    message = (
        f"The level fell {drop_mm:g} mm, but the method takes the time of a {SQUARE_RING_DROP_MM:g} mm drop. "
        "Repeat it with that drop; the rate was computed from the drop as recorded."
    )
    allowed = f"{SQUARE_RING_DROP_MM:g} mm"
    return MethodRate(
        TestMethod.SQUARE_DOUBLE_RING, rate, (Deviation("square_ring_drop", drop_mm, allowed, message),)
    )


def flood_rate_mm_h(run: FloodRun) -> float:
    """Rate of one flooding in mm/h."""
    return drop_rate_mm_h(run.start_mm - run.end_mm, run.elapsed_s)


def levelled_off(rates: Sequence[float]) -> int:
    """How many of the last floodings count: as many as agree within `LEVEL_WITHIN`, counted back from the last.

    A build-up takes water faster until it is saturated, and the result that is wanted is the saturated one
    (Boogaard et al. 2014; Boogaard & Lucke 2019: up to 300 % between the two; both looked up). When it is
    saturated is told, as in infiltration tests of soil, by successive rates that agree; the factor is our own.
    """
    count = 0
    for count in range(1, len(rates) + 1):
        last = rates[-count:]
        if max(last) > LEVEL_WITHIN * min(last) * (1 + 1e-12):
            return count - 1
    return count


def flooding_rate(runs: Sequence[FloodRun]) -> MethodRate:
    """Mean rate of the last floodings of a dammed section, those that agree; three or more are asked.

    Source: Boogaard et al. 2014, Water 6(7):2070-2083 (looked up); which ones count: see `levelled_off`.
    """
    if not runs:
        raise IncompleteRecordError("A flooding test needs at least 1 run, got 0. Record the first flooding.")
    rates = [flood_rate_mm_h(run) for run in runs]
    level = levelled_off(rates)
    rate = fmean(rates[-level:])
    if level >= FEWEST_FLOODINGS:
        return MethodRate(TestMethod.FLOODING, rate)
    return MethodRate(TestMethod.FLOODING, rate, (_not_saturated(len(runs), level),))


def _not_saturated(runs: int, level: int) -> Deviation:
    if runs < FEWEST_FLOODINGS:
        message = (
            f"{runs} flooding{' was' if runs == 1 else 's were'} run; at least {FEWEST_FLOODINGS} are averaged. "
            f"Run {FEWEST_FLOODINGS - level} more, so that the build-up is saturated; until then the rate is at most "
            "this."
        )
        return Deviation("too_few_floodings", float(runs), f"at least {FEWEST_FLOODINGS}", message)
    message = (
        f"Of {runs} floodings only the last{f' {level}' if level > 1 else ''} "
        f"{'agree' if level > 1 else 'stands alone'} (within a factor of {LEVEL_WITHIN:g}): the rate has not "
        f"levelled off, so it is at most this. Run {FEWEST_FLOODINGS - level} more, until {FEWEST_FLOODINGS} agree."
    )
    allowed = f"the last {FEWEST_FLOODINGS} within a factor of {LEVEL_WITHIN:g}"
    return Deviation("not_levelled_off", float(level), allowed, message)


def frame_rate(volume_l: float, length_mm: float, width_mm: float, elapsed_s: float) -> MethodRate:
    """Rate by the simple wooden frame: a volume that sinks in over the frame's inside area.

    Source: Winston et al. 2016, J. Environ. Eng. 142 (looked up: relation; arithmetic: V/(A·t)).
    """
    require_positive("Volume of water", volume_l, "L", _ADVICE)
    require_positive("Inside length", length_mm, "mm", _ADVICE)
    require_positive("Inside width", width_mm, "mm", _ADVICE)
    depth_mm = volume_l * 1e6 / (length_mm * width_mm)
    return MethodRate(TestMethod.FRAME, drop_rate_mm_h(depth_mm, elapsed_s))


def screen_by_spread(volume_l: float, wetted_area_m2: float, reference_m2_per_l: float | None) -> Screening:
    """How far a poured volume spread. Screening only: there is no rate in it.

    reference_m2_per_l: of the same spot when new or just cleaned, None where unknown. Half as far
    again as the reference asks for a ring test (own default).

    Source: Lucke et al. 2015, Water 7(6):2542-2554 (r = -0.714 with the ring test, looked up).
    """
    require_positive("Volume of water", volume_l, "L", _ADVICE)
    require_positive("Wetted area", wetted_area_m2, "m²", _ADVICE)
    spread = wetted_area_m2 / volume_l
    if reference_m2_per_l is None:
        advice = "No earlier spread at this spot to compare with. Keep this one as its reference."
        return Screening(spread, None, advice)
    require_positive("Reference spread", reference_m2_per_l, "m²/L", _ADVICE)
    times = spread / reference_m2_per_l
    far = times >= FAR_SPREAD_TIMES * (1 - 1e-12)  # 0.15 over 0.1 is 1.5, and in binary a hair less
    advice = "Test this spot with the ring." if far else "No sign of clogging here; keep to the plan."
    return Screening(spread, times, f"The water spread {times:.1f} times as far as before. {advice}")


def outflow_conductivity_per_s(outflow_s: float, outlet_only_s: float) -> float:
    """Relative hydraulic conductivity in 1/s by the outflow meter, 1/(t - r). Not a rate.

    outlet_only_s: r, the time the device takes on its own.

    Source: EN 12697-40:2020 (formula from memory).
    """
    require_positive("Outflow time", outflow_s, "s", _ADVICE)
    require_not_negative("Outlet-only time", outlet_only_s, "s")
    if outflow_s <= outlet_only_s:
        raise ImpossibleRecordError(
            f"The outflow time of {outflow_s:g} s must exceed the device's own {outlet_only_s:g} s. "
            "Check that the right time was entered and the seal did not leak."
        )
    return 1 / (outflow_s - outlet_only_s)


def to_ring_test(measured: MethodRate) -> Converted:
    """What the ring test might have shown, with the published range. Raises where none is published.

    Falling head: the ring test reads 50 to 90 % less, 75 % on average (Li, Kayhanian & Harvey 2013,
    J. Environ. Manage. 118:144-152, looked up). Frame: about equal up to 15 000 mm/h (Winston 2016).
    """
    if measured.method is TestMethod.FALLING_HEAD:
        source = Source(
            "Li, Kayhanian & Harvey 2013, J. Environ. Manage. 118:144-152", SourceStatus.LOOKED_UP
        )
        rate = measured.rate_mm_h
        return Converted(rate * 0.10, rate * 0.25, rate * 0.50, source)
    if measured.method is TestMethod.FRAME and not is_beyond_frame_range(measured.rate_mm_h):
        return Converted(None, measured.rate_mm_h, None, METHODS[TestMethod.FRAME].source)
    name = measured.method.in_sentence
    raise IncompleteRecordError(
        f"There is no published relation between the {name} and the ring test at {measured.rate_mm_h:g} mm/h. "
        "Keep the result with its own method, or test the spot with the ring."
    )


def is_beyond_frame_range(rate_mm_h: float) -> bool:
    """Whether a frame's rate is above that up to which it reads like the ring; the bound itself is not.

    Source: Winston et al. 2016, J. Environ. Eng. 142 (looked up).
    """
    # 60 mm in 14.4 s are 15 000 mm/h, and in binary a hair more.
    return rate_mm_h > FRAME_EQUALS_RING_UP_TO_MM_H * (1 + 1e-12)


def ring_range_mm_h(method: TestMethod, rate_mm_h: float) -> tuple[float, float] | None:
    """The published range in which the ring test might have read; None where no range is published."""
    if method is not TestMethod.FALLING_HEAD:
        return None
    converted = to_ring_test(MethodRate(method, rate_mm_h))
    if converted.low_mm_h is None or converted.high_mm_h is None:
        return None
    return converted.low_mm_h, converted.high_mm_h


def falling_head_by_ratio(rate_mm_h: float) -> Converted:
    """A second published relation: falling head over constant head 4.08 to 6.36.

    Source: Chen et al. 2019, Water 11(3):444 (looked up). The middle is the geometric mean (own choice).
    """
    require_positive("Rate", rate_mm_h, "mm/h", _ADVICE)
    source = Source("Chen et al. 2019, Water 11(3):444", SourceStatus.LOOKED_UP)
    return Converted(rate_mm_h / 6.36, rate_mm_h / sqrt(4.08 * 6.36), rate_mm_h / 4.08, source)
