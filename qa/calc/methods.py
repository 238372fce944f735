"""Field methods other than the single ring: what each gives, and what it can be turned into.

A method's own result is always kept. A value converted to the ring test is given with the
published range and marked as converted; methods without a published relation are not converted.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import log, sqrt
from statistics import fmean

from core.calc.format import fixed
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import S_PER_H
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.deviations import Deviation, deviation, require_not_negative, require_positive
from qa.calc.numbers import short
from qa.calc.sources import Source, SourceStatus
from qa.calc.standards import ring_standard

SQUARE_RING_DROP_MM = 20.0
_DROP_READ_TO_MM = 0.5  # a drop marked in inches is 20 mm to this
FEWEST_FLOODINGS = 3
LEVEL_WITHIN = 1.25  # slowest to fastest of the floodings that count; our judgement, no source
FRAME_EQUALS_RING_UP_TO_MM_H = 15_000.0
FAR_SPREAD_TIMES = 1.5
_ADVICE = gettext_noop("Check the entry.")


class Gives(StrEnum):
    """What a method's result may be used for."""

    RATE = "rate"
    SCREENING = "screening"
    RELATIVE = "relative"


@dataclass(frozen=True, slots=True)
class MethodFacts:
    """A method with what it gives, a caution for the screen in English, and its source."""

    gives: Gives
    caution_written: str
    source: Source

    @property
    def caution(self) -> str:
        """What its number may not be taken for, in the reader's language."""
        return _(self.caution_written)


METHODS: dict[TestMethod, MethodFacts] = {
    TestMethod.RING: MethodFacts(
        Gives.RATE,
        gettext_noop("Valid for the tested spot and day."),
        Source(gettext_noop("ASTM C1701/C1701M, C1781/C1781M; NBR 16416:2015"), SourceStatus.FROM_MEMORY),
    ),
    TestMethod.FALLING_HEAD: MethodFacts(
        Gives.RATE,
        gettext_noop("Reads 2 to 10 times as much as the ring test; never in one trend with it."),
        Source(gettext_noop("Darcy's law for a falling head, k = aL/(At)·ln(h1/h2)"), SourceStatus.DERIVED),
    ),
    TestMethod.SQUARE_DOUBLE_RING: MethodFacts(
        Gives.RATE,
        gettext_noop("The rate is the time for a drop of 20 mm; no published conversion to the ring test."),
        Source(
            gettext_noop("9th Int. Conf. on Concrete Block Paving, 2009, after AS 4693.5-2004"),
            SourceStatus.LOOKED_UP,
        ),
    ),
    TestMethod.FLOODING: MethodFacts(
        Gives.RATE,
        gettext_noop(
            "A saturated rate over a whole section; unsaturated rates differ from it by up to 300 %."
        ),
        Source(
            gettext_noop("Boogaard et al. 2014, Water 6(7):2070; Boogaard & Lucke 2019, Water 11(2):320"),
            SourceStatus.LOOKED_UP,
        ),
    ),
    TestMethod.FRAME: MethodFacts(
        Gives.RATE,
        gettext_noop(
            "About equal to the ring test up to 15 000 mm/h; above that the relation is not known to us."
        ),
        Source(
            gettext_noop("Winston et al. 2016, J. Environ. Eng. 142 (873 tests, 12 pavements)"),
            SourceStatus.LOOKED_UP,
        ),
    ),
    TestMethod.SPREADING_AREA: MethodFacts(
        Gives.SCREENING,
        gettext_noop("Screening only: it never gives a rate. Follow a poor result with a ring test."),
        Source(
            gettext_noop("Lucke et al. 2015, Water 7(6):2542 (r = -0.714 with the ring test)"),
            SourceStatus.LOOKED_UP,
        ),
    ),
    TestMethod.OUTFLOW_METER: MethodFacts(
        Gives.RELATIVE,
        gettext_noop("A relative conductivity in 1/s; compare it only with itself. Not on a frozen surface."),
        Source(gettext_noop("EN 12697-40:2020, outflow meter"), SourceStatus.FROM_MEMORY),
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
    require_positive(gettext_noop("Drop of the water level"), drop_mm, "mm", _ADVICE)
    require_positive(gettext_noop("Elapsed time"), elapsed_s, "s", _ADVICE)
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
    require_positive(gettext_noop("Standpipe area"), standpipe_area_mm2, "mm²", _ADVICE)
    require_positive(gettext_noop("Contact area"), contact_area_mm2, "mm²", _ADVICE)
    require_positive(
        gettext_noop("Layer thickness"),
        layer_thickness_mm,
        "mm",
        gettext_noop("Measure a core or take it from the record."),
    )
    require_positive(gettext_noop("Elapsed time"), elapsed_s, "s", _ADVICE)
    require_positive(
        gettext_noop("Head at the end"),
        head_end_mm,
        "mm",
        gettext_noop("Stop the watch while water still stands in the pipe."),
    )
    if not head_start_mm > head_end_mm:
        raise ImpossibleRecordError(
            _("The head must fall, but went from {start} to {end} mm. Enter the higher one first.").format(
                start=short(head_start_mm), end=short(head_end_mm)
            )
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
    said = gettext_noop(
        "The level fell {drop}, but the method takes the time of a {asked} drop. "
        "Repeat it with that drop; the rate was computed from the drop as recorded."
    )
    drop, asked = f"{drop_mm:g} mm", f"{SQUARE_RING_DROP_MM:g} mm"
    found = deviation("square_ring_drop", drop_mm, "{asked}", said, drop=drop, asked=asked)
    return MethodRate(TestMethod.SQUARE_DOUBLE_RING, rate, (found,))


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
        raise IncompleteRecordError(
            _("A flooding test needs at least 1 run, got 0. Record the first flooding.")
        )
    rates = [flood_rate_mm_h(run) for run in runs]
    level = levelled_off(rates)
    rate = fmean(rates[-level:])
    if level >= FEWEST_FLOODINGS:
        return MethodRate(TestMethod.FLOODING, rate)
    return MethodRate(TestMethod.FLOODING, rate, (_not_saturated(len(runs), level),))


def _not_saturated(runs: int, level: int) -> Deviation:
    numbers = {"runs": f"{runs}", "asked": f"{FEWEST_FLOODINGS}", "more": f"{FEWEST_FLOODINGS - level}"}
    if runs < FEWEST_FLOODINGS:
        said = _ONE_FLOODING if runs == 1 else _FEW_FLOODINGS
        return deviation("too_few_floodings", float(runs), gettext_noop("at least {asked}"), said, **numbers)
    numbers |= {"level": f"{level}", "factor": f"{LEVEL_WITHIN:g}"}
    allowed = gettext_noop("the last {asked} within a factor of {factor}")
    said = _LAST_FEW_AGREE if level > 1 else _LAST_STANDS_ALONE
    return deviation("not_levelled_off", float(level), allowed, said, **numbers)


_ONE_FLOODING = gettext_noop(
    "{runs} flooding was run; at least {asked} are averaged. Run {more} more, so that the build-up is saturated; until "
    "then the rate is at most this."
)
_FEW_FLOODINGS = gettext_noop(
    "{runs} floodings were run; at least {asked} are averaged. Run {more} more, so that the build-up is saturated; "
    "until then the rate is at most this."
)
_LAST_FEW_AGREE = gettext_noop(
    "Of {runs} floodings only the last {level} agree (within a factor of {factor}): the rate has not levelled off, so "
    "it is at most this. Run {more} more, until {asked} agree."
)
_LAST_STANDS_ALONE = gettext_noop(
    "Of {runs} floodings only the last stands alone (within a factor of {factor}): the rate has not levelled off, so "
    "it is at most this. Run {more} more, until {asked} agree."
)


def frame_rate(volume_l: float, length_mm: float, width_mm: float, elapsed_s: float) -> MethodRate:
    """Rate by the simple wooden frame: a volume that sinks in over the frame's inside area.

    Source: Winston et al. 2016, J. Environ. Eng. 142 (looked up: relation; arithmetic: V/(A·t)).
    """
    require_positive(gettext_noop("Volume of water"), volume_l, "L", _ADVICE)
    require_positive(gettext_noop("Inside length"), length_mm, "mm", _ADVICE)
    require_positive(gettext_noop("Inside width"), width_mm, "mm", _ADVICE)
    depth_mm = volume_l * 1e6 / (length_mm * width_mm)
    return MethodRate(TestMethod.FRAME, drop_rate_mm_h(depth_mm, elapsed_s))


def screen_by_spread(volume_l: float, wetted_area_m2: float, reference_m2_per_l: float | None) -> Screening:
    """How far a poured volume spread. Screening only: there is no rate in it.

    reference_m2_per_l: of the same spot when new or just cleaned, None where unknown. Half as far
    again as the reference asks for a ring test (own default).

    Source: Lucke et al. 2015, Water 7(6):2542-2554 (r = -0.714 with the ring test, looked up).
    """
    require_positive(gettext_noop("Volume of water"), volume_l, "L", _ADVICE)
    require_positive(gettext_noop("Wetted area"), wetted_area_m2, "m²", _ADVICE)
    spread = wetted_area_m2 / volume_l
    if reference_m2_per_l is None:
        advice = _("No earlier spread at this spot to compare with. Keep this one as its reference.")
        return Screening(spread, None, advice)
    require_positive(gettext_noop("Reference spread"), reference_m2_per_l, "m²/L", _ADVICE)
    times = spread / reference_m2_per_l
    far = times >= FAR_SPREAD_TIMES * (1 - 1e-12)  # 0.15 over 0.1 is 1.5, and in binary a hair less
    advice = _("Test this spot with the ring.") if far else _("No sign of clogging here; keep to the plan.")
    said = _("The water spread {times} times as far as before.").format(times=fixed(times, 1))
    return Screening(spread, times, f"{said} {advice}")


def outflow_conductivity_per_s(outflow_s: float, outlet_only_s: float) -> float:
    """Relative hydraulic conductivity in 1/s by the outflow meter, 1/(t - r). Not a rate.

    outlet_only_s: r, the time the device takes on its own.

    Source: EN 12697-40:2020 (formula from memory).
    """
    require_positive(gettext_noop("Outflow time"), outflow_s, "s", _ADVICE)
    require_not_negative(gettext_noop("Outlet-only time"), outlet_only_s, "s")
    if outflow_s <= outlet_only_s:
        raise ImpossibleRecordError(
            _(
                "The outflow time of {time} s must exceed the device's own {own} s. "
                "Check that the right time was entered and the seal did not leak."
            ).format(time=short(outflow_s), own=short(outlet_only_s))
        )
    return 1 / (outflow_s - outlet_only_s)


def to_ring_test(measured: MethodRate) -> Converted:
    """What the ring test might have shown, with the published range. Raises where none is published.

    Falling head: the ring test reads 50 to 90 % less, 75 % on average (Li, Kayhanian & Harvey 2013,
    J. Environ. Manage. 118:144-152, looked up). Frame: about equal up to 15 000 mm/h (Winston 2016).
    """
    if measured.method is TestMethod.FALLING_HEAD:
        source = Source(
            gettext_noop("Li, Kayhanian & Harvey 2013, J. Environ. Manage. 118:144-152"),
            SourceStatus.LOOKED_UP,
        )
        rate = measured.rate_mm_h
        return Converted(rate * 0.10, rate * 0.25, rate * 0.50, source)
    if measured.method is TestMethod.FRAME and not is_beyond_frame_range(measured.rate_mm_h):
        return Converted(None, measured.rate_mm_h, None, METHODS[TestMethod.FRAME].source)
    said = _(
        "There is no published relation between the {method} and the ring test at {rate} mm/h. "
        "Keep the result with its own method, or test the spot with the ring."
    )
    raise IncompleteRecordError(
        said.format(method=measured.method.in_sentence, rate=short(measured.rate_mm_h))
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
    require_positive(gettext_noop("Rate"), rate_mm_h, "mm/h", _ADVICE)
    source = Source(gettext_noop("Chen et al. 2019, Water 11(3):444"), SourceStatus.LOOKED_UP)
    return Converted(rate_mm_h / 6.36, rate_mm_h / sqrt(4.08 * 6.36), rate_mm_h / 4.08, source)
