"""What a construction check asks and what was found, in words, in a person's units."""

from dataclasses import replace

from core.calc.units import UnitSystem
from qa.calc.check_model import Check
from qa.calc.check_progress import Outcome
from qa.calc.check_units import in_units, reading_text
from qa.models import CheckEntry, ConstructionCheck
from qa.selectors.construction import RATE, SPOTS

YES_NO = "Yes or no"
ASKED_AT_ACCEPTANCE = {
    SPOTS: "as many as the area asks for",
    RATE: "at least the rate asked when new",
}


def criterion_text(check: ConstructionCheck, units: str) -> str:
    """What is asked: bounds around the designed value where there is one, else as they are."""
    if check.key in ASKED_AT_ACCEPTANCE:
        return ASKED_AT_ACCEPTANCE[check.key]
    return asked_text(check.as_check, check.design, units)


def judged_text(entry: CheckEntry, units: str) -> str:
    """What was asked when the finding was made."""
    kept = entry.criterion
    then = replace(
        entry.construction_check.as_check,
        unit=kept.unit,
        least=kept.least,
        most=kept.most,
        most_excluded=kept.most_excluded,
        against_design=kept.against_design,
    )
    return asked_text(then, kept.design, units)


def asked_of_text(check: ConstructionCheck) -> str:
    """Of what it is asked, and how often."""
    each = f", for each {check.each}" if check.each else ""
    readings = f", at least {check.readings_asked} readings" if check.readings_asked > 1 else ""
    return f"Asked{each}{readings}"


def asked_then_text(entry: CheckEntry, units: str) -> str:
    """What was asked when a reading was taken, where another thing is asked now; empty otherwise."""
    then = judged_text(entry, units)
    changed = entry.reading is not None and then != criterion_text(entry.construction_check, units)
    return then if changed else ""


def asked_text(check: Check, design: float | None, units: str) -> str:
    """Bounds in words; 'Yes or no' for a check without any."""
    system = UnitSystem(units)
    if not check.is_number:
        return YES_NO
    if not check.against_design:
        return _range(check, system)
    if design is None:
        return _range_without_design(check, system)
    around = replace(
        check,
        against_design=False,
        least=None if check.least is None else design + check.least,
        most=None if check.most is None else design + check.most,
    )
    designed = reading_text(design, check.unit, system)
    return f"{_range(around, system)} (designed: {designed})"


def _range_without_design(check: Check, system: UnitSystem) -> str:
    """A bound of nothing from an unknown value would read as if anything passed."""
    if check.least == 0.0 and check.most is None:
        return "at least the designed value, which is not entered yet"
    return f"{_range(check, system)}, which is not entered yet"


def _range(check: Check, system: UnitSystem) -> str:
    shown = in_units(check, system)
    return replace(shown, least=_short(shown.least), most=_short(shown.most)).range_text


def _short(bound: float | None) -> float | None:
    return None if bound is None else float(f"{bound:.4g}")


def found_text(entry: CheckEntry, units: str) -> str:
    """What was found, in words."""
    if entry.reading is not None:
        return reading_text(entry.reading, entry.criterion.unit, UnitSystem(units))
    return {Outcome.PASSED: "Yes, as asked", Outcome.FAILED: "No"}.get(
        Outcome(entry.outcome), entry.get_outcome_display()
    )


def source_text(check: ConstructionCheck) -> str:
    """Where the criterion comes from, and how sure that is."""
    note = check.source_note
    if not check.source or note.startswith(check.source):
        return note
    return f"{check.source}. {note}"
