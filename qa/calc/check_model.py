"""A construction check, its criterion, and the judging of a reading against it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.nominal import inches_text
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import pgettext
from core.calc.units import rounded_for_reading
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.sources import Source


class Stage(TextChoice):
    """Parts of the work in the order of building."""

    BEFORE_DIGGING = "before_digging", "Before digging"
    SUBGRADE = "subgrade", "Subgrade"
    GEOTEXTILE = "geotextile", "Geotextile"
    OVERFLOW = "overflow", "Overflow"
    SUBBASE = "subbase", "Subbase"
    BASE = "base", "Base"
    EDGE = "edge", "Edge restraint"
    BEDDING = "bedding", "Bedding"
    SURFACE = "surface", "Surface course"
    JOINTS = "joints", "Joints and fill"
    CURE = "cure", "Cure and opening"
    FINISH = "finish", "Finish"
    ACCEPTANCE = "acceptance", "Acceptance test"


STAGE_ORDER = tuple(Stage)


class HeaviestUse(TextChoice):
    """The heaviest use that a surface is built for; it decides how much compaction is asked."""

    FOOT = "foot", "Feet and bicycles"
    VEHICLE = "vehicle", "Vehicles"


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at. With neither bound it is answered yes or no.

    key: stable within a surface type. asked: what must hold, in words. unit: of the reading, in SI.
    least, most: bounds of the reading, both allowed unless `most_excluded`. least_us, most_us: the same as who builds
    by inches prints them, in the US unit; None: as converted. Texts may hold pairs (`core.calc.nominal`).
    against_design: the bounds hold for the reading less the designed value.
    hold_point: the work stops until it has passed. each: what a reading is taken of, when of several.
    otherwise: what to do when it is not met.

    It is judged by `evaluate` as it reads in one system: `check_units.in_units` gives that.
    """

    key: str
    stage: Stage
    asked: str
    source: Source
    otherwise: str
    unit: str = ""
    least: float | None = None
    most: float | None = None
    most_excluded: bool = False
    against_design: bool = False
    hold_point: bool = False
    each: str = ""
    least_us: float | None = None
    most_us: float | None = None

    @property
    def is_number(self) -> bool:
        """Whether a number is read rather than yes or no."""
        return self.least is not None or self.most is not None

    @property
    def range_text(self) -> str:
        """The bounds in words with their unit; empty for a yes or no."""
        least = None if self.least is None else _signed(self, self.least)
        most = None if self.most is None else _signed(self, self.most)
        if least is not None and most is not None:
            said = _("{least} to {most}").format(least=least, most=_with_unit(most, self.unit))
        elif least is not None:
            said = _("at least {least}").format(least=_with_unit(least, self.unit))
        elif most is not None:
            said = (_("less than {most}") if self.most_excluded else _("at most {most}")).format(
                most=_with_unit(most, self.unit)
            )
        else:
            return ""
        # Translators: {range} is for instance "at least 3 mm" or "-10 to +10 mm".
        return _("{range} of the design").format(range=said) if self.against_design else said


@dataclass(frozen=True, slots=True)
class Criterion(Payload):
    """What a check asked when a finding was made, kept with the finding. Fields as of `Check`.

    design: the designed value of that day in SI, where the check compares with it.
    """

    SCHEMA: ClassVar[int] = 1

    asked: str
    unit: str = ""
    least: float | None = None
    most: float | None = None
    most_excluded: bool = False
    against_design: bool = False
    design: float | None = None
    least_us: float | None = None
    most_us: float | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a reading meets its check, and why."""

    passed: bool
    reason: str


def evaluate(check: Check, reading: float | bool, design: float | None = None) -> Verdict:
    """A reading against its check: a number in the check's unit, or True for as asked.

    check: as it reads in the system the reading was taken in. design: the designed value in the same unit, needed
    where the check compares with it.
    """
    if not check.is_number:
        return _evaluate_answer(check, reading)
    if isinstance(reading, bool) or not isfinite(reading):
        raise ImpossibleRecordError(_no_number(check, reading))
    value, said = reading, _with_unit(number_text(reading, check.unit), check.unit)
    if check.against_design:
        if design is None:
            raise IncompleteRecordError(
                _("'{asked}' is compared with the design. Enter the designed value first.").format(
                    asked=check.asked
                )
            )
        value = reading - design
        said = _off_design(check, said, value, design)
    reason = _("{found}; {range} is asked.").format(found=said, range=check.range_text)
    if _within(check, value):
        return Verdict(True, reason)
    return Verdict(False, f"{reason} {check.otherwise}")


def _no_number(check: Check, reading: float | bool) -> str:
    if not check.unit:
        return _("'{asked}' needs a number in plain count, got {reading}.").format(
            asked=check.asked, reading=reading
        )
    return _("'{asked}' needs a number in {unit}, got {reading}.").format(
        asked=check.asked, unit=unit_words(check.unit), reading=reading
    )


def _off_design(check: Check, said: str, off: float, design: float) -> str:
    sign = "+" if off >= 0 else ""
    return _("{found}, {off} from the design of {design}").format(
        found=said, off=f"{sign}{number_text(off, check.unit)}", design=number_text(design, check.unit)
    )


def waiting_hold_points(checks: Iterable[Check], passed: Iterable[str], stage: Stage) -> tuple[Check, ...]:
    """Hold points of earlier stages that have not passed, so that a stage must not begin yet.

    passed: keys of the checks that have passed.
    """
    done, limit = set(passed), STAGE_ORDER.index(stage)
    return tuple(
        c for c in checks if c.hold_point and STAGE_ORDER.index(c.stage) < limit and c.key not in done
    )


def _evaluate_answer(check: Check, reading: float | bool) -> Verdict:
    if not isinstance(reading, bool):
        raise ImpossibleRecordError(
            _("'{asked}' is answered yes or no, got {reading}.").format(asked=check.asked, reading=reading)
        )
    if reading:
        return Verdict(True, _("As asked."))
    return Verdict(
        False, _("Not as asked: {asked} {otherwise}").format(asked=check.asked, otherwise=check.otherwise)
    )


def _within(check: Check, value: float) -> bool:
    if check.least is not None and _against(value, check.least, check.unit) < 0:
        return False
    if check.most is None:
        return True
    side = _against(value, check.most, check.unit)
    return side < 0 if check.most_excluded else side <= 0


def _against(value: float, bound: float, unit: str) -> float:
    """Below 0 where a value lies below a bound, 0 where both read alike: nobody can be asked for more than is shown."""
    return 0.0 if number_text(value, unit) == number_text(bound, unit) else value - bound


def number_text(value: float, unit: str, digits: int = 4) -> str:
    """A number to four digits; inches in the fractions of a rule."""
    return inches_text(value, digits) if unit == "in" else rounded_for_reading(value, digits)


def unit_words(unit: str) -> str:
    """The unit of a check as it is printed: those that are words in the reader's language."""
    words = {"passes": _("passes"), "spots": _("spots"), "d": pgettext("days, as a unit", "d")}
    return words.get(unit, unit)


def _with_unit(number: str, unit: str) -> str:
    return f"{number} {unit_words(unit)}".strip()


def _signed(check: Check, bound: float) -> str:
    said = number_text(bound, check.unit)
    return f"+{said}" if check.against_design and bound > 0 else said
