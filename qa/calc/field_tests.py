"""The field tests other than the ring: what is read on site, in which units, and what comes out.

Each test is a list of entries in the units they were taken in. The formulas are in `methods`; here the
entries are turned into SI, checked against the method, and every deviation is named.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import pi
from statistics import fmean
from typing import Any

from core.calc.bounds import Bound
from core.calc.format import labelled
from core.calc.paving import TestMethod
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import L_PER_GAL, M2_PER_FT2, MM_PER_IN, UnitSystem
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc import methods
from qa.calc.deviations import Deviation, deviation, require_positive
from qa.calc.field_readings import FieldReadings
from qa.calc.methods import MethodRate
from qa.calc.ring import BOUND_BY_ENDING, Ending, leak_deviation
from qa.calc.validity import concluded

FRAME_SIDE_TOLERANCE_MM = 10.0
LARGE_FRAME_SIDE_MM = 1000.0


class Measures(StrEnum):
    """What an entry is a measure of; it decides the unit beside it."""

    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    TIME = "time"
    YES = "yes"
    LOOKED_UP = "looked up"  # found in the record, never typed; m²/L in either system


@dataclass(frozen=True, slots=True)
class Scale:
    """The units of a measure and how many SI units (mm, m², L, s) one US unit is."""

    si_unit: str
    us_unit: str
    si_per_us: float


SCALES = {
    Measures.LENGTH: Scale("mm", "in", MM_PER_IN),
    Measures.AREA: Scale("m²", "ft²", M2_PER_FT2),
    Measures.VOLUME: Scale("L", "gal", L_PER_GAL),
    Measures.TIME: Scale("s", "s", 1.0),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to write down. written, hint_written: label and hint in English.

    usual: what the form starts with, by unit system, in that system's unit.
    """

    key: str
    written: str
    measures: Measures
    hint_written: str = ""
    required: bool = True
    usual: Mapping[UnitSystem, float] | None = None

    @property
    def label(self) -> str:
        """What is written down, in the reader's language."""
        return _(self.written)

    @property
    def hint(self) -> str:
        """The hint in the reader's language."""
        return _(self.hint_written)

    def unit(self, system: UnitSystem) -> str:
        """The unit beside the entry; empty for a yes or no."""
        scale = SCALES.get(self.measures)
        if scale is None:
            return ""
        return scale.si_unit if system is UnitSystem.SI else scale.us_unit

    def in_si(self, value: Any, system: UnitSystem) -> Any:
        """The entry in mm, m², L or s; a yes or no as it is."""
        scale = SCALES.get(self.measures)
        return value if scale is None or system is UnitSystem.SI else value * scale.si_per_us


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a test gave. rate_mm_h: None for screening and relative methods, whose own value stands instead.

    own_unit: unit of own_value, m²/L or 1/s. said: the finding in words, empty where the number says it all.
    """

    rate_mm_h: float | None
    bound: Bound = Bound.EXACT
    own_value: float | None = None
    own_unit: str = ""
    said: str = ""
    deviations: tuple[Deviation, ...] = ()


Values = Mapping[str, Any]
Judge = Callable[[Values, Sequence[Values]], Outcome]


@dataclass(frozen=True, slots=True)
class FieldTest:
    """How one method is recorded.

    steps_written: what to do, in order, and run_written: what a run is called, in English. fixed: entries made once.
    repeated: entries of each run; runs_offered rows of them are shown. can_be_stopped: whether "still ponded" makes its
    rate an upper bound. sealed: whether a leak past the seal spoils it.
    """

    method: TestMethod
    steps_written: tuple[str, ...]
    fixed: tuple[Entry, ...]
    judge: Judge
    repeated: tuple[Entry, ...] = ()
    run_written: str = gettext_noop("Run")
    runs_offered: int = 0
    can_be_stopped: bool = False
    sealed: bool = False

    @property
    def run_name(self) -> str:
        """What a run is called, in the reader's language."""
        return _(self.run_written)

    @property
    def steps(self) -> tuple[str, ...]:
        """What to do, in order, in the reader's language."""
        return tuple(_(step) for step in self.steps_written)


def evaluate_field_test(
    method: TestMethod,
    readings: FieldReadings,
    system: UnitSystem,
    ending: Ending = Ending.DRAINED,
    *,
    leak_seen: bool = False,
) -> Outcome:
    """Rate or own value of a test, what it bounds, and every deviation from its method. Raises UnusableRecordError.

    readings: in the units of `system`. leak_seen: whether water left past the seal, where the method has one.
    """
    test = FIELD_TESTS[method]
    if ending is not Ending.DRAINED and not test.can_be_stopped:
        raise ImpossibleRecordError(
            # Translators: {method} is for instance "flooding test".
            _("A {method} has no early stop. Record what the level did.").format(method=method.in_sentence)
        )
    fixed = _in_si(test.fixed, readings.once, system, "")
    runs = [
        _in_si(test.repeated, run, system, labelled(f"{test.run_name} {number}", ""))
        for number, run in enumerate(readings.runs, start=1)
    ]
    if test.repeated and not runs:
        raise IncompleteRecordError(_("{run} 1 is missing. Enter its readings.").format(run=test.run_name))
    outcome = test.judge(fixed, runs)
    found = (*outcome.deviations, *((leak_deviation(),) if leak_seen and test.sealed else ()))
    ended = BOUND_BY_ENDING[ending]
    bound, deviations = concluded(ended, found, outcome.rate_mm_h, method, system)
    return replace(outcome, bound=bound, deviations=deviations)


def _in_si(entries: Sequence[Entry], readings: Values, system: UnitSystem, where: str) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for entry in entries:
        value = readings.get(entry.key)
        if value is None and entry.required:
            raise IncompleteRecordError(
                # Translators: {entry} is what was to be entered, such as "Time of the fall".
                _("{entry} is missing. Enter it as it was read.").format(entry=f"{where}{entry.label}")
            )
        values[entry.key] = None if value is None else entry.in_si(value, system)
    return values


def from_rate(measured: MethodRate, *more: Deviation | None) -> Outcome:
    """The outcome of a method that gives a rate, with deviations found besides those of its formula."""
    found = (*measured.deviations, *(deviation for deviation in more if deviation is not None))
    return Outcome(measured.rate_mm_h, deviations=found)


def _judge_falling_head(fixed: Values, runs: Sequence[Values]) -> Outcome:
    rates = [
        methods.falling_head_rate(
            _disc_mm2(gettext_noop("Standpipe diameter"), fixed["standpipe_diameter"]),
            _disc_mm2(gettext_noop("Diameter of the sealed base"), fixed["contact_diameter"]),
            fixed["layer_thickness"],
            run["elapsed_s"],
            run["head_start"],
            run["head_end"],
        ).rate_mm_h
        for run in runs
    ]
    return from_rate(MethodRate(TestMethod.FALLING_HEAD, fmean(rates)), _falls_differ(rates))


def _disc_mm2(name: str, diameter_mm: float) -> float:
    require_positive(name, diameter_mm, "mm", gettext_noop("Measure the inside."))
    return pi / 4 * diameter_mm**2


def _falls_differ(rates: Sequence[float]) -> Deviation | None:
    """Falls at one spot that differ by more than a third: the seal or the filling changed between them."""
    if max(rates) <= 1.33 * min(rates):
        return None
    factor = max(rates) / min(rates)
    return deviation(
        "falls_differ",
        factor,
        gettext_noop("within a factor of {most}"),
        gettext_noop(
            "The falls differ by a factor of {factor}; within {most} is ordinary. "
            "Check the seal, fill again and repeat until two falls agree."
        ),
        factor=f"{factor:.2f}",
        most="1.33",
    )


def _judge_square_ring(fixed: Values, runs: Sequence[Values]) -> Outcome:
    require_positive(
        gettext_noop("Inner frame, inside width"),
        fixed["inner_side"],
        "mm",
        gettext_noop("Measure the inside."),
    )
    times = [run["elapsed_s"] for run in runs]
    rates = [methods.square_ring_rate(fixed["drop"], time) for time in times]
    mean = MethodRate(
        TestMethod.SQUARE_DOUBLE_RING, fmean(rate.rate_mm_h for rate in rates), rates[0].deviations
    )
    return from_rate(mean, _frame_size(fixed["inner_side"]), _outer_level(fixed["outer_level"]))


def _frame_size(side_mm: float) -> Deviation | None:
    if abs(side_mm - LARGE_FRAME_SIDE_MM) <= FRAME_SIDE_TOLERANCE_MM:
        return None
    said = gettext_noop(
        "The inner frame is {side} wide; the method uses {asked}. "
        "The rate needs no correction, but a smaller frame sees less of the surface: test more spots."
    )
    side, asked = f"{side_mm:.0f} mm", f"{LARGE_FRAME_SIDE_MM:g} mm"
    return deviation("inner_frame_side", side_mm, "{asked}", said, side=side, asked=asked)


def _outer_level(kept: bool) -> Deviation | None:
    if kept:
        return None
    said = gettext_noop(
        "The water between the frames was not kept level with the inner one, so water left sideways "
        "and the rate is at most this. Top up the outer frame and repeat."
    )
    return deviation("outer_level", None, gettext_noop("level with the inner frame"), said)


def _judge_flooding(fixed: Values, runs: Sequence[Values]) -> Outcome:
    return from_rate(methods.flooding_rate(_floods(runs)), _dam_tight(fixed["dam_tight"]))


def _floods(runs: Sequence[Values]) -> list[methods.FloodRun]:
    return [methods.FloodRun(run["level_start"], run["level_end"], run["elapsed_s"]) for run in runs]


def flood_rates_mm_h(readings: FieldReadings, system: UnitSystem) -> list[float]:
    """The rate of each flooding in mm/h, in the order they were run. readings: in the units of `system`."""
    repeated = FIELD_TESTS[TestMethod.FLOODING].repeated
    runs = [_in_si(repeated, run, system, "") for run in readings.runs]
    return [methods.flood_rate_mm_h(run) for run in _floods(runs)]


def _dam_tight(tight: bool) -> Deviation | None:
    if tight:
        return None
    said = gettext_noop("Water left past the dam, so the rate is at most this. Seal the dam and flood again.")
    return deviation("dam_leaked", None, gettext_noop("no water past the dam"), said)


def _judge_frame(fixed: Values, runs: Sequence[Values]) -> Outcome:
    measured = methods.frame_rate(fixed["volume"], fixed["length"], fixed["width"], fixed["elapsed_s"])
    return from_rate(measured, _above_frame_range(measured.rate_mm_h))


def _above_frame_range(rate_mm_h: float) -> Deviation | None:
    most = methods.FRAME_EQUALS_RING_UP_TO_MM_H
    if not methods.is_beyond_frame_range(rate_mm_h):
        return None
    return deviation(
        "above_frame_range",
        rate_mm_h,
        gettext_noop("at most {most}"),
        gettext_noop(
            "{rate} is above {most}, up to which the frame reads about like the ring. "
            "Test this spot with the ring if the number itself matters."
        ),
        rate=f"{rate_mm_h:,.0f} mm/h",
        most=f"{most:,.0f} mm/h",
    )


def _judge_spread(fixed: Values, runs: Sequence[Values]) -> Outcome:
    seen = methods.screen_by_spread(fixed["volume"], fixed["wetted_area"], fixed["reference"])
    return Outcome(None, own_value=seen.area_m2_per_l, own_unit="m²/L", said=seen.advice)


def _judge_outflow(fixed: Values, runs: Sequence[Values]) -> Outcome:
    times = [methods.outflow_conductivity_per_s(run["outflow_s"], fixed["outlet_only_s"]) for run in runs]
    found = () if not fixed["frozen"] else (_frozen(),)
    said = _("Compare it only with earlier outflow times of the same device.")
    return Outcome(None, own_value=fmean(times), own_unit="1/s", said=said, deviations=found)


def _frozen() -> Deviation:
    said = gettext_noop(
        "The surface was frozen; the method is not for a frozen surface. Test it after the thaw."
    )
    return deviation("frozen", None, gettext_noop("not frozen"), said)


def _length(key: str, label: str, hint: str = "", si: float | None = None, us: float | None = None) -> Entry:
    usual = {UnitSystem.SI: si, UnitSystem.US: us} if si is not None and us is not None else None
    return Entry(key, label, Measures.LENGTH, hint, usual=usual)


def _time(key: str, label: str, hint: str = "") -> Entry:
    return Entry(key, label, Measures.TIME, hint)


FIELD_TESTS = {
    test.method: test
    for test in (
        FieldTest(
            TestMethod.FALLING_HEAD,
            steps_written=(
                gettext_noop("Sweep the spot, set the standpipe and seal its base to the surface."),
                gettext_noop("Fill it and let the air out; the head is measured from the surface."),
                gettext_noop("Time the fall between two marks. Repeat until two falls agree."),
            ),
            fixed=(
                _length("standpipe_diameter", gettext_noop("Standpipe, inside diameter"),
                        gettext_noop("Of the tier the water fell in.")),
                _length("contact_diameter", gettext_noop("Sealed base, inside diameter")),
                _length("layer_thickness", gettext_noop("Thickness of the layer"),
                        gettext_noop("From a core or the build-up.")),
            ),
            repeated=(
                _length("head_start", gettext_noop("Head at the start")),
                _length("head_end", gettext_noop("Head at the end")),
                _time("elapsed_s", gettext_noop("Time of the fall")),
            ),
            run_written=gettext_noop("Fall"),
            runs_offered=3,
            judge=_judge_falling_head,
            sealed=True,
        ),
        FieldTest(
            TestMethod.SQUARE_DOUBLE_RING,
            steps_written=(
                gettext_noop("Seal both frames, wet the surface through, fill both to the same level."),
                gettext_noop("Time a drop of 20 mm in the inner frame; top up the outer one meanwhile."),
                gettext_noop("Repeat; the mean counts."),
            ),
            fixed=(
                _length("inner_side", gettext_noop("Inner frame, inside width"), si=1000.0, us=39.4),
                _length("drop", gettext_noop("Drop of the level"), si=20.0, us=0.79),
                Entry("outer_level", gettext_noop("The outer frame was kept at the same level"), Measures.YES),
            ),
            repeated=(_time("elapsed_s", gettext_noop("Time of the drop")),),
            run_written=gettext_noop("Drop"),
            runs_offered=3,
            judge=_judge_square_ring,
            can_be_stopped=True,
            sealed=True,
        ),
        FieldTest(
            TestMethod.FLOODING,
            steps_written=(
                gettext_noop("Dam off a section and flood it; keep the water away from doors and basements."),
                gettext_noop("Read the level at two times. Let it drain."),
                gettext_noop("Flood again until three runs in a row agree "
                             "within a factor of 1.25: the build-up is saturated then."),
                gettext_noop("The mean of those last runs counts; earlier, faster ones are left out."),
            ),
            fixed=(
                Entry("section_area", gettext_noop("Area of the flooded section"), Measures.AREA, required=False),
                Entry("dam_tight", gettext_noop("No water left past the dam"), Measures.YES),
            ),
            repeated=(
                _length("level_start", gettext_noop("Level at the start")),
                _length("level_end", gettext_noop("Level at the end")),
                _time("elapsed_s", gettext_noop("Time between the two")),
            ),
            run_written=gettext_noop("Flooding"),
            runs_offered=6,
            judge=_judge_flooding,
        ),
        FieldTest(
            TestMethod.FRAME,
            steps_written=(
                gettext_noop("Set the frame, seal it inside along the surface."),
                gettext_noop("Pour the whole volume at once and start the clock."),
                gettext_noop("Stop when no free water is left."),
            ),
            fixed=(
                _length("length", gettext_noop("Frame, inside length")),
                _length("width", gettext_noop("Frame, inside width")),
                Entry("volume", gettext_noop("Water poured"), Measures.VOLUME),
                _time("elapsed_s", gettext_noop("Time until no water stood")),
            ),
            judge=_judge_frame,
            can_be_stopped=True,
            sealed=True,
        ),
        FieldTest(
            TestMethod.SPREADING_AREA,
            steps_written=(
                gettext_noop("Pour the bucket out at one point, always from the same height."),
                gettext_noop("Mark how far the water spread and measure that area."),
                gettext_noop("It screens only: follow a poor result with a ring test."),
            ),
            fixed=(
                Entry("volume", gettext_noop("Water poured"), Measures.VOLUME),
                Entry("wetted_area", gettext_noop("Wetted area"), Measures.AREA,
                      gettext_noop("Count the wetted units, or measure it.")),
                Entry("reference", gettext_noop("Earlier spread at this spot"), Measures.LOOKED_UP, required=False),
            ),
            judge=_judge_spread,
        ),
        FieldTest(
            TestMethod.OUTFLOW_METER,
            steps_written=(
                gettext_noop("Clean, unfrozen surface; set the loaded device and fill it above the upper mark."),
                gettext_noop("Wait until no more bubbles rise, then time the fall from mark to mark."),
                gettext_noop("Only comparable with earlier times of the same device."),
            ),
            fixed=(
                _time("outlet_only_s", gettext_noop("Time of the device on its own"),
                      gettext_noop("Outflow into the open, without surface.")),
                Entry("frozen", gettext_noop("The surface was frozen"), Measures.YES),
            ),
            repeated=(_time("outflow_s", gettext_noop("Outflow time")),),
            run_written=gettext_noop("Outflow"),
            runs_offered=3,
            judge=_judge_outflow,
            sealed=True,
        ),
    )
}  # fmt: skip
