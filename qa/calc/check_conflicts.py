"""Where a construction check and the build-up entered contradict one another: units of 90 mm in a course of 70 mm.

Nothing is judged by it: it says both values and what to do. Tolerances: those of the checks where they have one, else
our own default.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from statistics import fmean
from types import MappingProxyType

from core.calc.format import format_size
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from qa.calc.buildups import LayerKind
from qa.calc.check_model import Check
from qa.calc.check_units import in_units, judge

JOINT_WIDTH, OVERFLOW_INVERT = "joint_width", "overflow_invert"
SAME_MM = 0.5


@dataclass(frozen=True, slots=True)
class Recorded:
    """The build-up as it is entered now, in mm: thickness by kind of layer, and sizes of the surface by name."""

    thickness_mm: Mapping[LayerKind, float]
    sizes_mm: Mapping[str, float] = field(default_factory=dict)

    def of(self, part: "LayerKind | str") -> float | None:
        """The size entered for a kind of layer, or by name; None where nobody entered it."""
        return self.thickness_mm.get(part) if isinstance(part, LayerKind) else self.sizes_mm.get(part)


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading in mm that counts, and where it was taken."""

    value_mm: float
    where: str = ""


class ConflictKind(StrEnum):
    """What contradicts the build-up: what was read, the lifts put together, the design kept, or what is asked."""

    READ = "read"
    LIFTS = "lifts"
    DESIGN = "design"
    ASKED = "asked"


@dataclass(frozen=True, slots=True)
class Conflict:
    """A contradiction with both values. what: the part meant; there_mm: of the check; recorded_mm: as entered."""

    kind: ConflictKind
    what: str
    there_mm: float
    recorded_mm: float
    asked: Check | None = None

    def text(self, units: str) -> str:
        """Both values and what to do, in a person's units."""
        there, recorded = format_size(self.there_mm, units), format_size(self.recorded_mm, units)
        if self.kind is ConflictKind.ASKED and self.asked:
            there = in_units(self.asked, UnitSystem(units)).range_text
        return _(_TEXTS[self.kind]).format(what=_(self.what), there=there, recorded=recorded)


_TEXTS = {
    # Translators: {what} is for instance "thickness of the units", without an article.
    ConflictKind.READ: gettext_noop(
        "The {what} measured {there} on average; the build-up says {recorded}. "
        "Measure again, or correct the build-up to what was built."
    ),
    ConflictKind.LIFTS: gettext_noop(
        "The lifts of the {what} add up to {there}; the build-up says {recorded}. "
        "Enter the lift that is missing, correct a wrong one, or correct the build-up."
    ),
    ConflictKind.DESIGN: gettext_noop(
        "This check compares the {what} with a design of {there}; the build-up now says {recorded}. "
        "Change the requirement, or correct the build-up."
    ),
    ConflictKind.ASKED: gettext_noop(
        "The {what} is asked to be {there}; the build-up says {recorded}. "
        "Correct the build-up, or change what is asked by the job's specification."
    ),
}


@dataclass(frozen=True, slots=True)
class _Compared:
    what: str
    of: LayerKind | str
    within_mm: float


_COMPARED = MappingProxyType(
    {
        "unit_thickness": _Compared(gettext_noop("thickness of the units"), LayerKind.SURFACE_COURSE, 5.0),
        "grid_thickness": _Compared(
            gettext_noop("thickness of the grid units"), LayerKind.SURFACE_COURSE, 5.0
        ),
        "bedding_thickness": _Compared(gettext_noop("thickness of the bedding"), LayerKind.BEDDING, 13.0),
        "bound_thickness": _Compared(gettext_noop("thickness of the bound bed"), LayerKind.BOUND_BED, 10.0),
        "asphalt_choker": _Compared(gettext_noop("thickness of the choker course"), LayerKind.BEDDING, 10.0),
        "subbase_thickness": _Compared(gettext_noop("thickness of the subbase"), LayerKind.SUBBASE, 25.0),
        "base_thickness": _Compared(gettext_noop("thickness of the base"), LayerKind.BASE, 15.0),
        "subbase_lift": _Compared(gettext_noop("subbase"), LayerKind.SUBBASE, 25.0),
        "base_lift": _Compared(gettext_noop("base"), LayerKind.BASE, 15.0),
        "resin_depth": _Compared(
            gettext_noop("depth of the resin-bound course"), LayerKind.SURFACE_COURSE, 3.0
        ),
        "concrete_thickness": _Compared(
            gettext_noop("thickness of the slab"), LayerKind.SURFACE_COURSE, 10.0
        ),
        "asphalt_thickness": _Compared(
            gettext_noop("thickness of the asphalt"), LayerKind.SURFACE_COURSE, 10.0
        ),
        "gravel_thickness": _Compared(
            gettext_noop("thickness of the gravel"), LayerKind.SURFACE_COURSE, 20.0
        ),
        "joint_width": _Compared(gettext_noop("width of the joints"), JOINT_WIDTH, 3.0),
        "overflow_invert": _Compared(gettext_noop("height of the overflow"), OVERFLOW_INVERT, 10.0),
    }
)


def conflicts_of(
    check: Check, readings: Sequence[Reading], recorded: Recorded, *, design_mm: float | None, complete: bool
) -> tuple[Conflict, ...]:
    """What of a check contradicts the build-up. Empty where nothing is recorded to compare with.

    readings: those that count. complete: whether all that were asked for are there; lifts add up only then.
    """
    compared = _COMPARED.get(check.key)
    if compared is None:
        return ()
    entered = recorded.of(compared.of)
    if entered is None:
        return ()
    found = (
        _design_conflict(check, compared, entered, design_mm),
        _read_conflict(check, compared, entered, readings, complete) if readings else None,
        None if readings else _asked_conflict(check, compared, entered),
    )
    return tuple(conflict for conflict in found if conflict)


def _design_conflict(
    check: Check, compared: _Compared, entered_mm: float, design_mm: float | None
) -> Conflict | None:
    if not check.against_design or design_mm is None or abs(design_mm - entered_mm) <= SAME_MM:
        return None
    return Conflict(ConflictKind.DESIGN, compared.what, design_mm, entered_mm)


def _read_conflict(
    check: Check, compared: _Compared, entered_mm: float, readings: Sequence[Reading], complete: bool
) -> Conflict | None:
    in_lifts = check.each == "lift"
    read = sum_of_lifts(readings) if in_lifts else fmean(one.value_mm for one in readings)
    off = read - entered_mm
    if abs(off) <= compared.within_mm or (in_lifts and off < 0 and not complete):
        return None
    kind = ConflictKind.LIFTS if in_lifts else ConflictKind.READ
    return Conflict(kind, compared.what, read, entered_mm)


def _asked_conflict(check: Check, compared: _Compared, entered_mm: float) -> Conflict | None:
    """What is asked from the start cannot be met by what is entered, in neither system of sizes."""
    if check.against_design or check.each == "lift":
        return None
    if any(judge(check, entered_mm, None, system).passed for system in UnitSystem):
        return None
    return Conflict(ConflictKind.ASKED, compared.what, entered_mm, entered_mm, check)


def sum_of_lifts(readings: Sequence[Reading]) -> float:
    """The lifts put together: the mean of what was read in each, a reading without a name being a lift of its own."""
    named: dict[str, list[float]] = defaultdict(list)
    for number, one in enumerate(readings):
        named[_lift_name(one.where) or f"#{number}"].append(one.value_mm)
    return sum(fmean(values) for values in named.values())


def _lift_name(where: str) -> str:
    """What names the lift: "Lift 2, B3" and "lift 2" are one lift."""
    return where.split(",")[0].strip().casefold()
