"""Money of care worked through with its own numbers."""

from core.calc.format import area_unit, figure, fixed
from core.calc.marks import marked
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import Quantity, UnitSystem, price_to_display, rounded_for_reading, to_display
from maintenance.calc.care_payload import CareOutcome
from maintenance.calc.costs import Terms, cleaning_cost, hours_needed
from maintenance.models import Recommendation
from qa.presentation.worked import Worked

PRICES = gettext_noop("prices and outputs of the firm")
WORKED_DIGITS = 6
HOURS_ALIKE = 0.01  # hours are stored to the hundredth


def worked_care(chosen: CareOutcome, currency: str) -> Worked | None:
    """How the cost a year of a programme came about, and what it comes to in all; None without its years."""
    years = [year.cost.mean for year in chosen.by_year]
    if not years:
        return None
    shown = " + ".join(_plain(cost) for cost in years)
    below = chosen.total_10 - chosen.spent_10
    return Worked(
        "c = (c₁ + … + cₙ) / n",
        f"c = ({shown}) / {len(years)} = {_plain(chosen.cost_a_year.mean)} {currency}",
        _(
            "c₁ to cₙ works and tests of each year, the mean over all futures, as paid. In all counts later money for "
            "less, and time below the limit at what it is worth to avoid."
        ),
        _("the programme, carried out on futures drawn from what is known"),
        _("the cost a year"),
        (
            _("in all = {spent} + {below} = {total} {currency}").format(
                spent=_plain(chosen.spent_10),
                below=_plain(below),
                total=_plain(chosen.total_10),
                currency=currency,
            ),
        ),
    )


def worked_price(row: Recommendation, terms: Terms | None, units: str) -> Worked | None:
    """How price and hours of an advised cleaning came about, in the reader's units.

    None where they no longer follow from what is set.
    """
    area_m2 = row.surface.area_m2
    if terms is None or row.cost is None or cleaning_cost(terms, area_m2) != row.cost:
        return None
    by_area, hours = float(terms.cost_per_m2) * area_m2, hours_needed(terms, area_m2)
    larger = (
        _("the minimum charge is more, {minimum}: {price}")
        if terms.minimum_charge > by_area
        else _("more than the minimum charge, {minimum}: {price}")
    )
    price = f"{_plain(float(row.cost))} {row.currency}"
    lines = [larger.format(minimum=_plain(float(terms.minimum_charge)), price=price)]
    area = _measured(area_m2, Quantity.AREA, units)
    if abs((row.crew_hours or 0.0) - hours) < HOURS_ALIKE:
        in_hours = _("hours = {area} / {output} = {hours} h")
        output = _measured(terms.output_m2_h, Quantity.OUTPUT, units)
        lines.append(in_hours.format(area=area, output=output, hours=figure(hours)))
    each = price_to_display(terms.cost_per_m2, Quantity.PRICE_BY_AREA, UnitSystem(units))
    return Worked(
        _("price = max(p · A, minimum charge); hours = A / output"),
        f"p · A = {marked(f'{each:f}')} · {area} = {_plain(by_area)} {row.currency}",
        _("p the price of one {unit}, A the area, output the area done in an hour on site.").format(
            unit=area_unit(units)
        ),
        _(PRICES),
        _("the price"),
        tuple(lines),
    )


def _measured(value_si: float, quantity: Quantity, units: str) -> str:
    """A value with its unit, to so many digits that what is worked out from it holds."""
    shown = to_display(value_si, quantity, UnitSystem(units))
    return f"{rounded_for_reading(shown.value, WORKED_DIGITS)} {shown.unit}"


def _plain(amount: float) -> str:
    """An amount without its currency, to the hundredth, so that sums of shown figures hold."""
    return fixed(amount, 2, parted=True)
