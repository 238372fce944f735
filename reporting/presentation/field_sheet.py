"""A sheet for tests written by hand, as text for its paper."""

from collections.abc import Callable
from uuid import UUID

from core.calc.units import UnitSystem
from qa.calc.ring import PROCEDURES
from reporting.calc.field_sheet import FieldSheet
from reporting.presentation.pdf import Paper
from reporting.presentation.qr import qr_svg
from reporting.presentation.words import worded

START = "start"


def field_sheet_paper(
    sheet: FieldSheet, units: str, plan_svg: str, address_of: Callable[[str | UUID], str]
) -> Paper:
    """The sheet in the units it is written in. plan_svg: empty without a plan; address_of: gives the full address of
    the form for a spot by its key, and of the page where the round is begun for "start".
    """
    procedure, made = PROCEDURES[UnitSystem(units)], sheet.made_on
    words = worded(sheet, units) | {
        "units": units,
        "made": [made.year, made.month, made.day],
        "mass_unit": procedure.mass_unit,
        "length_unit": procedure.length_unit,
        "has_plan": bool(plan_svg),
    }
    drawings = {f"qr-{spot.key}": qr_svg(address_of(spot.key)) for spot in sheet.spots}
    drawings["qr-start"] = qr_svg(address_of(START))
    if plan_svg:
        drawings["plan"] = plan_svg
    return Paper("field_sheet.typ", words, drawings)
