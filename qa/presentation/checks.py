"""What a construction check asks and what was found, in words, in a person's units."""

from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.units import UnitSystem
from qa.calc.check_model import Check
from qa.calc.check_progress import Outcome
from qa.calc.check_units import as_it_was, in_units, quantity_of, reading_text, shown_value
from qa.calc.citing import named
from qa.calc.sampling import basis_words
from qa.models import CheckEntry, ConstructionCheck
from qa.selectors.construction import RATE, SPOTS, CheckState

YES_NO = gettext_noop("Yes or no")
ASKED_AT_ACCEPTANCE = {
    SPOTS: gettext_noop("as many as the area asks for"),
    RATE: gettext_noop("at least the acceptance rate"),
}


def criterion_text(check: ConstructionCheck, units: str) -> str:
    """What is asked: bounds around the designed value where there is one, else as they are."""
    if check.key in ASKED_AT_ACCEPTANCE:
        return _(ASKED_AT_ACCEPTANCE[check.key])
    return asked_text(check.as_check, check.design, units)


def judged_text(entry: CheckEntry, units: str) -> str:
    """What was asked when the finding was made."""
    kept = entry.criterion
    then = as_it_was(entry.construction_check.as_check, kept)
    # What was read in inches was judged by inches: told in millimetres it might read as if it had been judged wrongly.
    return asked_text(then, kept.design, entry.units if _read_elsewhere(entry, units) else units)


def asked_of_text(check: ConstructionCheck) -> str:
    """Of what it is asked, and how often."""
    each, places = _(check.each) if check.each else "", check.readings_asked
    if places > 1:
        said = _("Required, for each {each}, at {count} places") if each else _("Required, at {count} places")
    else:
        said = _("Required, for each {each}") if each else _("Required")
    return said.format(each=each, count=places)


def readings_text(one: CheckState) -> str:
    """How many readings there are of how many, and why so many; empty where one look is all that is asked."""
    asked, basis = one.row.readings_asked, one.row.readings_basis
    if asked == 1 and not basis:
        return ""
    said = ngettext("{counted} of {asked} readings.", "{counted} of {asked} readings.", one.counted)
    return f"{said.format(counted=one.counted, asked=asked)} {basis_words(basis)}".strip()


def asked_then_text(entry: CheckEntry, units: str) -> str:
    """What was asked when a reading was taken, where another thing is asked now; empty otherwise."""
    then = judged_text(entry, units)
    changed = entry.reading is not None and then != criterion_text(entry.construction_check, units)
    return then if changed else ""


def asked_text(check: Check, design: float | None, units: str) -> str:
    """Bounds in words; 'Yes or no' for a check without any."""
    system = UnitSystem(units)
    if not check.is_number:
        return _(YES_NO)
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
    return _("{range} (designed: {design})").format(
        range=around.range_text, design=reading_text(design, check.unit, system)
    )


def _range_without_design(read: Check) -> str:
    """A bound of nothing from an unknown value would read as if anything passed."""
    if read.least == 0.0 and read.most is None:
        return _("at least the designed value, which is not entered yet")
    # Translators: {range} is for instance "-10 to +10 mm of the design".
    return _("{range}, which is not entered yet").format(range=read.range_text)


def found_text(entry: CheckEntry, units: str) -> str:
    """What was found, in words; a reading taken in other units than the reader's in both."""
    if entry.reading is not None:
        unit = entry.criterion.unit
        here = reading_text(entry.reading, unit, UnitSystem(units))
        if not _read_elsewhere(entry, units):
            return here
        return f"{reading_text(entry.reading, unit, UnitSystem(entry.units))} ({here})"
    return {Outcome.PASSED: _("Yes, as asked"), Outcome.FAILED: _("No")}.get(
        Outcome(entry.outcome), entry.get_outcome_display()
    )


def _read_elsewhere(entry: CheckEntry, units: str) -> bool:
    """Whether a reading was taken in another system than the reader's, and that matters to its unit."""
    other = entry.reading is not None and entry.units != units
    return other and quantity_of(entry.criterion.unit) is not None


def source_text(check: ConstructionCheck) -> str:
    """Where the criterion comes from, as pages name it that clients read too."""
    return named(check.as_source)
