"""What a rain does in a build-up: soaked away, kept, overflowed, run off. And what to look out for."""

from dataclasses import dataclass
from itertools import pairwise
from math import inf

from core.calc.nominal import Nominal
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import MM_PER_FT, MM_PER_IN, MM_PER_M, Measure, Quantity, UnitSystem, to_display, unit_of
from core.errors import ImpossibleRecordError
from qa.calc.citing import named
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short, to_digits
from qa.calc.sources import Source, guidance, looked_up

EVEN = 1.0
BLOCKS = 60  # of a rain with a peak; even, so that the peak lies between two


@dataclass(frozen=True, slots=True)
class Reservoir:
    """A build-up as a store; all depths are mm of water over the paved area.

    below_overflow_mm: held below the invert of the overflow or drain, or in the whole build-up where there is no pipe.
    soil_rate_mm_h: 0 for a liner. reuse_mm: free room of the store for irrigation, which the pipe fills.
    surface_rate_mm_h: what the surface takes now; None where it takes everything.
    has_pipe: whether an overflow or drain leads out of the build-up; without one what does not fit ponds and runs off.
    """

    below_overflow_mm: float
    soil_rate_mm_h: float
    reuse_mm: float = 0.0
    surface_rate_mm_h: float | None = None
    has_pipe: bool = True


@dataclass(frozen=True, slots=True)
class Rain:
    """A rain that rises to its peak in the middle and falls as it rose.

    peak_factor: greatest intensity over the mean; 1 falls evenly, 2 is a triangle. Source of the triangle: the
    triangular hyetograph of Yen & Chow 1980, J. Hydraul. Div. 106 (from memory); other peaks by the same power law.
    """

    depth_mm: float
    duration_h: float
    peak_factor: float = EVEN


@dataclass(frozen=True, slots=True)
class StorePoint:
    """Water in the stone at one time: hours from the start of the rain, mm over the paved area."""

    at_h: float
    store_mm: float


@dataclass(frozen=True, slots=True)
class RainFate:
    """Where the water of a rain goes, in mm over the paved area; the parts add up to the inflow.

    course: how the water in the stone rises and falls, as corners of straight lines.
    ran_off_mm: what the surface does not take, or what ponds out of a full build-up without a pipe.
    held_mm: stays in the build-up because the soil takes nothing. drain_h: from the end of the rain
    until the stone is empty, infinite where it never is.
    """

    inflow_mm: float
    ran_off_mm: float
    kept_for_reuse_mm: float
    soaked_mm: float
    overflowed_mm: float
    held_mm: float
    highest_store_mm: float
    drain_h: float
    course: tuple[StorePoint, ...]


def blocks_of(rain: Rain) -> tuple[tuple[float, float], ...]:
    """The rain as blocks of even intensity: hours and mm/h; their depths add up to the rain's."""
    if rain.peak_factor == EVEN:
        return ((rain.duration_h, rain.depth_mm / rain.duration_h),)
    hours = rain.duration_h / BLOCKS
    fallen = [_share_fallen(number / BLOCKS, rain.peak_factor) for number in range(BLOCKS + 1)]
    return tuple((hours, rain.depth_mm * (after - before) / hours) for before, after in pairwise(fallen))


def _share_fallen(of_duration: float, peak_factor: float) -> float:
    if of_duration <= 0.5:
        return float((2 * of_duration) ** peak_factor / 2)
    return 1 - _share_fallen(1 - of_duration, peak_factor)


class StoneStore:
    """The build-up while water comes in: what stands in the stone, and where the water went so far (mm).

    shed: what the surface did not take; risen_out: what rose above the overflow, or out of a build-up without one.
    takes_mm_h: what the surface takes in, which may change as time goes on; None where it takes everything.
    """

    def __init__(self, store: Reservoir) -> None:
        _refuse_bad_store(store)
        self.store, self.takes_mm_h = store, store.surface_rate_mm_h
        self.level = self.soaked = self.shed = self.risen_out = 0.0

    def take(self, hours: float, inflow_mm_h: float) -> None:
        """Let water come in evenly for some hours, or none: what stands soaks away meanwhile."""
        takes = self.takes_mm_h
        taken = inflow_mm_h if takes is None else min(inflow_mm_h, takes)
        self.shed += (inflow_mm_h - taken) * hours
        rise = taken - self.store.soil_rate_mm_h
        if rise >= 0:
            self._fill(hours, rise)
        else:
            self._fall(hours, taken, -rise)

    def _fill(self, hours: float, rise_mm_h: float) -> None:
        room = self.store.below_overflow_mm - self.level
        risen = rise_mm_h * hours
        self.soaked += self.store.soil_rate_mm_h * hours
        if risen > room:
            self.risen_out += risen - room
            self._reach(room / rise_mm_h, self.store.below_overflow_mm)
            self._reach(hours - room / rise_mm_h, self.store.below_overflow_mm)
        else:
            self._reach(hours, self.level + risen)

    def _fall(self, hours: float, taken_mm_h: float, fall_mm_h: float) -> None:
        if not self.level:
            self.soaked += taken_mm_h * hours
            self._reach(hours, 0.0)
            return
        wet_h = min(hours, self.level / fall_mm_h)
        self.soaked += self.store.soil_rate_mm_h * wet_h + taken_mm_h * (hours - wet_h)
        self._reach(wet_h, max(0.0, self.level - fall_mm_h * wet_h))
        self._reach(hours - wet_h, self.level if wet_h == hours else 0.0)

    def _reach(self, hours: float, level_mm: float) -> None:  # who draws the course needs the hours
        self.level = level_mm


class _Balance(StoneStore):
    """The same with its course, for one rain."""

    def __init__(self, store: Reservoir) -> None:
        super().__init__(store)
        self.corners = [StorePoint(0.0, 0.0)]

    def _reach(self, hours: float, level_mm: float) -> None:
        super()._reach(hours, level_mm)
        if hours > 0:
            self.corners.append(StorePoint(self.corners[-1].at_h + hours, level_mm))

    def empty(self) -> float:
        """After the rain: what stands soaks away. Returns the hours it takes."""
        self.soaked += self.level if self.store.soil_rate_mm_h > 0 else 0.0
        hours = _drain_h(self.level, self.store.soil_rate_mm_h)
        at_h = self.corners[-1].at_h
        ends = StorePoint(at_h + 24, self.level) if hours == inf else StorePoint(at_h + hours, 0.0)
        self.corners.append(ends)
        return hours


def _drain_h(left_mm: float, soil_rate_mm_h: float) -> float:
    if left_mm == 0:
        return 0.0
    return left_mm / soil_rate_mm_h if soil_rate_mm_h > 0 else inf


def _after_rain(rain: Rain, run_on_ratio: float, store: Reservoir) -> _Balance:
    require_not_negative(gettext_noop("Rain depth"), rain.depth_mm, "mm")
    require_positive(gettext_noop("Duration"), rain.duration_h, "h", gettext_noop("Enter the hours of rain."))
    require_not_negative(gettext_noop("Run-on ratio"), run_on_ratio, "")
    if not rain.peak_factor >= EVEN:
        raise ImpossibleRecordError(
            _(
                "The peak of a rain is at least its mean, got {times} times it. Enter 1 for an even rain."
            ).format(times=short(rain.peak_factor))
        )
    balance = _Balance(store)
    for hours, rate in blocks_of(rain):
        balance.take(hours, rate * (1 + run_on_ratio))
    return balance


def rain_fate(rain: Rain, run_on_ratio: float, store: Reservoir) -> RainFate:
    """The balance of a rain on a surface with its run-on, on an empty build-up.

    Water beyond what the surface takes runs off; the rest soaks away at the soil's rate while there is any; what
    rises above the invert leaves through the pipe, which is taken as large enough and fills the reuse store first.

    Source: mass balance. Raises ImpossibleRecordError for what cannot be.
    """
    balance = _after_rain(rain, run_on_ratio, store)
    piped = balance.risen_out if store.has_pipe else 0.0
    kept = min(store.reuse_mm, piped)
    left = balance.level
    highest = max(point.store_mm for point in balance.corners)
    drain_h = balance.empty()
    return RainFate(
        inflow_mm=rain.depth_mm * (1 + run_on_ratio),
        ran_off_mm=balance.shed + (balance.risen_out - piped),
        kept_for_reuse_mm=kept,
        soaked_mm=balance.soaked,
        overflowed_mm=piped - kept,
        held_mm=0.0 if store.soil_rate_mm_h > 0 else left,
        highest_store_mm=highest,
        drain_h=drain_h,
        course=tuple(balance.corners),
    )


def _refuse_bad_store(store: Reservoir) -> None:
    require_not_negative(gettext_noop("Storage below the overflow"), store.below_overflow_mm, "mm")
    require_not_negative(gettext_noop("Soil rate"), store.soil_rate_mm_h, "mm/h")
    require_not_negative(gettext_noop("Reuse store"), store.reuse_mm, "mm")
    if store.surface_rate_mm_h is not None:
        require_not_negative(gettext_noop("Surface rate"), store.surface_rate_mm_h, "mm/h")


@dataclass(frozen=True, slots=True)
class Rule:
    """A bound set by one document; `most` or `least`, None where there is none. place_written: where it holds."""

    place_written: str
    most: float | None
    least: float | None
    source: Source

    @property
    def place(self) -> str:
        """Where it holds, in the reader's language."""
        return _(self.place_written)


# No least time among them: the 24 h asked for water quality (from memory) are for water held back and let out by an
# outlet, while what is worked out here soaks into the soil.
DRAIN_TIME_RULES_H = (
    Rule(
        gettext_noop("New Jersey"),
        72,
        None,
        looked_up(gettext_noop("New Jersey Stormwater BMP Manual, ch. 9.6, March 2021")),
    ),
    Rule(
        gettext_noop("North Carolina"),
        72,
        None,
        looked_up(gettext_noop("15A NCAC 02H .1055(2) and .1051(5)")),
    ),
    Rule(
        gettext_noop("coastal US state guide"),
        48,
        None,
        guidance(gettext_noop("State guide to stormwater practices, ch. 4.3")),
    ),
    Rule(
        gettext_noop("US highways, with underdrain"),
        72,
        None,
        looked_up(gettext_noop("FHWA-HIF-19-021, April 2019 (48 to 72 h)")),
    ),
    Rule(
        gettext_noop("Ontario"),
        96,
        None,
        looked_up(gettext_noop("Ontario guide, sizing example; check locally")),
    ),
)

RUN_ON_RULES = (
    Rule(
        gettext_noop("North Carolina"),
        1.0,
        None,
        looked_up(gettext_noop("15A NCAC 02H .1055; screened roofs exempt")),
    ),
    Rule(
        gettext_noop("New Jersey"),
        3.0,
        None,
        looked_up(gettext_noop("New Jersey Stormwater BMP Manual, ch. 9.6, March 2021")),
    ),
    Rule(
        gettext_noop("Ontario"),
        2.0,
        None,
        looked_up(gettext_noop("Ontario guide, permeable pavement sizing, December 2021")),
    ),
)


@dataclass(frozen=True, slots=True)
class Setback:
    """A least distance in metres from something that must stay dry or clean; some only hold with run-on.

    place_written, what_written: where it holds and from what it is, in English. least_ft: what the same rule prints in
    feet, where it prints both; None: as converted.
    """

    place_written: str
    what_written: str
    least_m: float
    source: Source
    only_with_run_on: bool = False
    least_ft: float | None = None

    @property
    def place(self) -> str:
        """Where it holds, in the reader's language."""
        return _(self.place_written)

    @property
    def what(self) -> str:
        """From what it is, in the reader's language."""
        return _(self.what_written)

    def least_in(self, system: UnitSystem) -> Measure:
        """The distance as the rule prints it in a system."""
        if system is UnitSystem.US and self.least_ft is not None:
            return Measure(self.least_ft, "ft")
        return to_display(self.least_m, Quantity.LENGTH, system)


_MINNESOTA = looked_up(
    gettext_noop("Minnesota Stormwater Manual, minimum setback requirements, permeable pavement")
)
_MINNESOTA_MUST = looked_up(
    gettext_noop("Minnesota Stormwater Manual, setback distances of infiltration practices (required)")
)
_TOLERANCE_GUIDE = looked_up(
    gettext_noop("ICPI permeable paver construction tolerance guide, September 2020")
)
_FT = MM_PER_FT / MM_PER_M

SETBACKS = (
    Setback(gettext_noop("Minnesota"), gettext_noop("property line"), 10 * _FT, _MINNESOTA),
    Setback(
        gettext_noop("Minnesota"),
        gettext_noop("building foundation, ground sloping away"),
        10 * _FT,
        _MINNESOTA,
    ),
    Setback(gettext_noop("Minnesota"), gettext_noop("private well"), 50 * _FT, _MINNESOTA),
    Setback(gettext_noop("Minnesota"), gettext_noop("septic system"), 35 * _FT, _MINNESOTA),
    Setback(gettext_noop("Minnesota"), gettext_noop("drinking-water well"), 100 * _FT, _MINNESOTA_MUST),
    Setback(
        gettext_noop("Minnesota"),
        gettext_noop("saturated soil or bedrock, downwards"),
        3 * _FT,
        _MINNESOTA_MUST,
    ),
    Setback(
        gettext_noop("Minnesota"), gettext_noop("active karst, up-gradient"), 1000 * _FT, _MINNESOTA_MUST
    ),
    Setback(
        gettext_noop("Minnesota"), gettext_noop("active karst, down-gradient"), 100 * _FT, _MINNESOTA_MUST
    ),
    Setback(
        gettext_noop("Minnesota"), gettext_noop("toe of a slope of 20 % or more"), 200 * _FT, _MINNESOTA_MUST
    ),
    Setback(
        gettext_noop("Ontario"),
        gettext_noop("building foundation, down-gradient, with run-on and no geomembrane"),
        4.0,
        looked_up(gettext_noop("Ontario guide, permeable pavements; none without run-on")),
        only_with_run_on=True,
    ),
    Setback(
        gettext_noop("ICPI"),
        gettext_noop("building foundation unless waterproofed and drained"),
        3.0,
        _TOLERANCE_GUIDE,
        least_ft=10.0,
    ),
    Setback(
        gettext_noop("ICPI"), gettext_noop("well or surface water"), 30.0, _TOLERANCE_GUIDE, least_ft=100.0
    ),
    Setback(
        gettext_noop("ICPI"),
        gettext_noop("water table or bedrock, downwards"),
        0.6,
        _TOLERANCE_GUIDE,
        least_ft=2.0,
    ),
    Setback(
        gettext_noop("United Kingdom"),
        gettext_noop("building foundation"),
        5.0,
        guidance(gettext_noop("UK practice for infiltration")),
    ),
)


def rule_warnings(said: str, value: float, unit: str, rules: tuple[Rule, ...]) -> tuple[str, ...]:
    """A sentence for each rule that a value does not meet, with the bound and its source.

    said: the value in words, which begins each sentence.
    """
    found = []
    for rule in rules:
        if rule.most is not None and value > rule.most * (1 + 1e-12):
            bound, told = rule.most, _("{said}; at most {bound} ({place}: {source}).")
        elif rule.least is not None and value < rule.least * (1 - 1e-12):
            bound, told = rule.least, _("{said}; at least {bound} ({place}: {source}).")
        else:
            continue
        asked = told.format(
            said=said, bound=f"{short(bound)}{unit}", place=rule.place, source=_cited(rule.source)
        )
        found.append(f"{asked} {_(LOCALLY)}")
    return tuple(found)


LOCALLY = gettext_noop("Check the rule that holds locally.")


def drain_time_warnings(drain_h: float) -> tuple[str, ...]:
    """Rules that a drain-down time in hours does not meet."""
    drains = _("The stone drains in {hours} h").format(hours=to_digits(drain_h, 3))
    said = _("The stone never drains") if drain_h == inf else drains
    return rule_warnings(said, drain_h, " h", DRAIN_TIME_RULES_H)


def run_on_warnings(run_on_ratio: float) -> tuple[str, ...]:
    """Rules that a ratio of contributing to paved area does not meet."""
    return rule_warnings(
        _("The run-on ratio is {ratio}").format(ratio=to_digits(run_on_ratio, 3)),
        run_on_ratio,
        "",
        RUN_ON_RULES,
    )


def setback_warnings(
    what_contains: str, distance_m: float, system: UnitSystem = UnitSystem.SI, *, has_run_on: bool = True
) -> tuple[str, ...]:
    """Setbacks that a distance to something falls short of, by a word such as "foundation" or "well"."""
    require_not_negative(gettext_noop("Distance"), distance_m, "m")
    # Translators: {what} is for instance "building foundation" or "private well", without an article.
    said = _("{distance} to the {what}; {place} asks at least {least} ({source}).")
    distance = to_display(distance_m, Quantity.LENGTH, system)
    return tuple(
        " ".join((_setback_words(said, setback, distance, system), _(LOCALLY)))
        for setback in SETBACKS
        if what_contains in setback.what_written
        and distance_m < setback.least_m
        and (has_run_on or not setback.only_with_run_on)
    )


def _setback_words(said: str, setback: Setback, distance: Measure, system: UnitSystem) -> str:
    return said.format(
        distance=distance,
        what=setback.what,
        place=setback.place,
        least=setback.least_in(system),
        source=_cited(setback.source),
    )


def _printed(size: Nominal, quantity: Quantity, system: UnitSystem) -> Measure:
    """A figure of a guide in round numbers of either system."""
    return Measure(size.in_system(system), unit_of(quantity, system))


def _cited(source: Source) -> str:
    return named(source)


SOIL_NEEDS_DRAIN = (
    (Nominal(15.0, 0.6), looked_up(gettext_noop("Ontario guide, underdrain where the soil takes less"))),
    (Nominal(0.3 * MM_PER_IN, 0.3), guidance(gettext_noop("State guide to stormwater practices, ch. 4.3"))),
)
DEEPEST_MM = 2000.0
_DEEPEST = Nominal(DEEPEST_MM, 78.0)
FAST_SOIL_MM_H = 45.0
_DEEPEST_SOURCE = looked_up(gettext_noop("Ontario guide, permeable pavement sizing"))
_NO_PERVIOUS_SOURCE = looked_up(gettext_noop("Ontario guide, permeable pavement sizing; 15A NCAC 02H .1055"))


def build_up_warnings(
    soil_rate_mm_h: float,
    depth_mm: float,
    *,
    has_overflow: bool,
    soil_drains_on: bool,
    system: UnitSystem = UnitSystem.SI,
) -> tuple[str, ...]:
    """What guides ask of the build-up besides its volume: underdrain on slow soil, depth, clean run-on."""
    soil = to_display(soil_rate_mm_h, Quantity.RATE, system)
    no_drain = _(
        "The soil takes {rate} and no overflow or underdrain is recorded; one is asked for below {least} ({source})."
    )
    found = [
        no_drain.format(rate=soil, least=_printed(least, Quantity.RATE, system), source=_cited(source))
        for least, source in SOIL_NEEDS_DRAIN
        if soil_rate_mm_h < least.si and not has_overflow
    ]
    if depth_mm > DEEPEST_MM and soil_rate_mm_h >= FAST_SOIL_MM_H:
        found.append(_too_deep(to_display(depth_mm, Quantity.SHORT_LENGTH, system), system))
    if soil_drains_on:
        said = _(
            "Bare soil or planting drains onto the surface; only paved areas and roofs should ({source})."
        )
        found.append(said.format(source=_cited(_NO_PERVIOUS_SOURCE)))
    return tuple(found)


def _too_deep(depth: Measure, system: UnitSystem) -> str:
    said = _("The stone is {depth} deep; at most {most} is asked on soil this fast ({source}).")
    most = _printed(_DEEPEST, Quantity.SHORT_LENGTH, system)
    return said.format(depth=depth, most=most, source=_cited(_DEEPEST_SOURCE))
