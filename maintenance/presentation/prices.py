"""Price lists in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.currency import minor_units
from core.calc.format import NOTHING, day, fixed
from core.calc.marks import marked
from core.calc.units import MEASURED_BY, Quantity, UnitSystem, price_to_display, unit_of
from maintenance.models import PriceList
from maintenance.selectors.prices import ListedPrices

COST_AND_PRICE = gettext_noop(
    "A price is what an owner pays. What work costs the firm is kept apart: the hours of a crew, and what a "
    "subcontracted crew charges, on the crews' pages."
)


@dataclass(frozen=True, slots=True)
class ListLine:
    """One list among the firm's. state: in force, coming, or over."""

    row: PriceList
    title: str
    state: str
    look: str
    days: str
    tax: str


def list_lines(lists: Sequence[ListedPrices]) -> list[ListLine]:
    """All lists of a firm."""
    return [_line(each) for each in lists]


def _line(each: ListedPrices) -> ListLine:
    state, look = (_("in force"), "tag--good") if each.is_in_force else (_("coming"), "tag--warn")
    if not (each.is_in_force or each.is_coming):
        state, look = _("over"), ""
    title = _("Prices from {day}").format(day=day(each.row.valid_from))
    return ListLine(each.row, title, state, look, _days(each), tax_words(each.row))


def _days(each: ListedPrices) -> str:
    """Until when it held or holds; empty for the newest."""
    if each.until is None:
        return ""
    if each.until == each.row.valid_from:
        return _("replaced by another of the same day")
    return _("until {day}").format(day=day(each.until - timedelta(days=1)))


def tax_words(prices: PriceList) -> str:
    """Which tax, and whether the prices include it."""
    if not prices.tax_percent:
        return _("no tax")
    said = _("{tax} of {percent}, to be added")
    if prices.prices_include_tax:
        said = _("{tax} of {percent}, included")
    return said.format(tax=prices.tax_name, percent=percent_words(prices.tax_percent))


def percent_words(percent: object) -> str:
    """A rate without needless decimals."""
    return marked(f"{float(str(percent)):g}\u00a0%")


def price_rows(prices: PriceList, units: str) -> list[tuple[str, str, str]]:
    """What is charged for, the price in the reader's units, and its minimum."""
    currency = prices.currency
    rows = [
        (
            price.method.label,
            _by_measure(price.per_m2, Quantity.PRICE_BY_AREA, currency, units),
            _("{price} a site").format(price=unit_price(price.minimum, currency)),
        )
        for price in prices.methods.prices
    ]
    others = (
        (_("Test round of a surface"), prices.test_price),
        (_("Inspection of a surface"), prices.inspection_price),
        (_("Travel and call-out to a site"), prices.call_out_price),
    )
    rows += [(name, unit_price(price, currency), NOTHING) for name, price in others if price is not None]
    if prices.material_kg_price is not None:
        said = _by_measure(prices.material_kg_price, Quantity.PRICE_BY_MASS, currency, units)
        rows.append((_("Joint material"), said, NOTHING))
    return rows


def _by_measure(price_si: Decimal, quantity: Quantity, currency: str, units: str) -> str:
    """A price for each unit of area or mass."""
    system = UnitSystem(units)
    shown = price_si if system is UnitSystem.SI else price_to_display(price_si, quantity, system)
    # Translators: unit is "m²", "ft²", "kg" or "lb".
    said = _("{price} a {unit}")
    return said.format(price=unit_price(shown, currency), unit=unit_of(MEASURED_BY[quantity], system))


def counts_words(prices: PriceList) -> str:
    """In which units quotes from the list count: those of whoever wrote it, so that each sum stands by itself."""
    system = UnitSystem(prices.units)
    area, mass = (unit_of(quantity, system) for quantity in (Quantity.AREA, Quantity.MASS))
    # Translators: such as "m²" and "kg", or "ft²" and "lb".
    return _("Quotes from this list count areas in {area} and material in {mass}.").format(
        area=area, mass=mass
    )


def unit_price(amount: object, currency: str) -> str:
    """A price with the decimals it has, at least those of the currency."""
    digits = max(minor_units(currency), len(str(amount).rstrip("0").partition(".")[2]))
    return f"{fixed(Decimal(str(amount)), digits, parted=True)} {currency}"
