"""What a construction check asks and what was found, in words, in a person's units."""

from dataclasses import replace

from core.calc.units import UnitSystem
from qa.calc.check_model import Check
from qa.calc.check_progress import Outcome
from qa.calc.check_units import as_it_was, in_units, quantity_of, reading_text, shown_value
from qa.calc.citing import named
from qa.models import CheckEntry, ConstructionCheck
from qa.selectors.construction import RATE, SPOTS, CheckState

YES_NO = "Yes or no"
ASKED_AT_ACCEPTANCE = {
    SPOTS: "as many as the area asks for",
    RATE: "at least the acceptance rate",
}


def criterion_text(check: ConstructionCheck, units: str) -> str:
    """What is asked: bounds around the designed value where there is one, else as they are."""
    if check.key in ASKED_AT_ACCEPTANCE:
        return ASKED_AT_ACCEPTANCE[check.key]
    return asked_text(check.as_check, check.design, units)


def judged_text(entry: CheckEntry, units: str) -> str:
    """What was asked when the finding was made."""
    kept = entry.criterion
    then = as_it_was(entry.construction_check.as_check, kept)
    # What was read in inches was judged by inches: told in millimetres it might read as if it had been judged wrongly.
    return asked_text(then, kept.design, entry.units if _read_elsewhere(entry, units) else units)


def asked_of_text(check: ConstructionCheck) -> str:
    """Of what it is asked, and how often."""
    each = f", for each {check.each}" if check.each else ""
    readings = f", at {check.readings_asked} places" if check.readings_asked > 1 else ""
    return f"Required{each}{readings}"


def readings_text(one: CheckState) -> str:
    """How many readings there are of how many, and why so many; empty where one look is all that is asked."""
    asked, basis = one.row.readings_asked, one.row.readings_basis
    if asked == 1 and not basis:
        return ""
    return f"{one.counted} of {asked} readings. {basis}".strip()


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
    read = in_units(check, system)
    if not check.against_design:
        return read.range_text
    if design is None:
        return _range_without_design(read)
    middle = shown_value(design, check.unit, system)
    around = replace(
        read,
        against_design=False,
        least=None if read.least is None else middle + read.least,
        most=None if read.most is None else middle + read.most,
    )
    return f"{around.range_text} (designed: {reading_text(design, check.unit, system)})"


def _range_without_design(read: Check) -> str:
    """A bound of nothing from an unknown value would read as if anything passed."""
    if read.least == 0.0 and read.most is None:
        return "at least the designed value, which is not entered yet"
    return f"{read.range_text}, which is not entered yet"


def found_text(entry: CheckEntry, units: str) -> str:
    """What was found, in words; a reading taken in other units than the reader's in both."""
    if entry.reading is not None:
        unit = entry.criterion.unit
        here = reading_text(entry.reading, unit, UnitSystem(units))
        if not _read_elsewhere(entry, units):
            return here
        return f"{reading_text(entry.reading, unit, UnitSystem(entry.units))} ({here})"
    return {Outcome.PASSED: "Yes, as asked", Outcome.FAILED: "No"}.get(
        Outcome(entry.outcome), entry.get_outcome_display()
    )


def _read_elsewhere(entry: CheckEntry, units: str) -> bool:
    """Whether a reading was taken in another system than the reader's, and that matters to its unit."""
    other = entry.reading is not None and entry.units != units
    return other and quantity_of(entry.criterion.unit) is not None


def source_text(check: ConstructionCheck) -> str:
    """Where the criterion comes from, as pages name it that clients read too."""
    return named(check.as_source)
