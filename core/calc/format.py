"""Stored values as plain text: numbers, percentages and days as people read them, in their units and language.

Names of months and days, and the marks within numbers, are those of the Common Locale Data Repository, by Babel.
"""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from zoneinfo import ZoneInfo

from babel.dates import format_date

from core.calc.bounds import Bound
from core.calc.currency import rounded
from core.calc.marks import marked
from core.calc.nominal import inches_text
from core.calc.translation import gettext as _
from core.calc.translation import language, ngettext
from core.calc.units import Quantity, UnitSystem, price_to_display, rounded_for_reading, to_display, unit_of

NOTHING = "–"
DAYS_KEPT = 4096


def format_measure(value_si: float | None, quantity: Quantity, units: str) -> str:
    """A stored SI value with its unit. units: si or us."""
    return NOTHING if value_si is None else str(to_display(float(value_si), quantity, UnitSystem(units)))


def format_rate(rate_mm_h: float | None, units: str) -> str:
    """A rate with its unit."""
    return format_measure(rate_mm_h, Quantity.RATE, units)


def format_short_length(length_mm: float | None, units: str) -> str:
    """A length of a build-up or a depth of water, stored in mm, with its unit."""
    return format_measure(length_mm, Quantity.SHORT_LENGTH, units)


def format_size(length_mm: float | None, units: str) -> str:
    """A size of something built, stored in mm, with its unit: inches in the fractions that a rule shows."""
    if length_mm is None:
        return NOTHING
    measure = to_display(float(length_mm), Quantity.SHORT_LENGTH, UnitSystem(units))
    return f"{size_number(length_mm, units)} {measure.unit}"


def size_number(length_mm: float, units: str) -> str:
    """The same without the unit."""
    system = UnitSystem(units)
    value = to_display(float(length_mm), Quantity.SHORT_LENGTH, system).value
    return rounded_for_reading(value) if system is UnitSystem.SI else inches_text(value)


def bound_word(bound: str) -> str:
    """What stands before a number that is only a bound; empty before a value itself."""
    word = Bound(bound).label
    return f"{word} " if word else ""


def figure(value: float | None) -> str:
    """A number to three significant digits."""
    return NOTHING if value is None else rounded_for_reading(float(value))


def whole(value: float) -> str:
    """A number without decimals, and never "-0"."""
    return f"{round(value)}"


def fixed(value: float | Decimal, places: int, *, parted: bool = False) -> str:
    """A number to so many decimals. parted: with a mark between thousands."""
    return marked(f"{value:,.{places}f}" if parted else f"{value:.{places}f}")


def counted(number: int, noun: str) -> str:
    """A number of things: "1 surface", "42 surfaces". The noun takes an s in English.

    `core/services/catalogues.py` reads the noun and its plural out of the call, so it stands there as a literal.
    """
    return ngettext(f"{{count}} {noun}", f"{{count}} {noun}s", number).format(count=number)


def first_named(names: Sequence[str], most: int) -> str:
    """The first few of some names in a row, and how many more there are: "Yard, Ramp and 3 more"."""
    more = len(names) - most
    return ", ".join(names[:most]) + (_(" and {more} more").format(more=more) if more > 0 else "")


def labelled(label: object, text: object) -> str:
    """What something is called, and what is said of it: "Yard: needs cleaning"."""
    return _("{label}: {text}").format(label=label, text=text)


def begun(text: str) -> str:
    """A text with a capital to begin with: names of days and months have none in some languages."""
    return text[:1].upper() + text[1:]


def percent(share: float | None) -> str:
    """A share from 0 to 1 as a percentage, never falsely certain."""
    if share is None:
        return NOTHING
    if share <= 0.005:
        return _("under 1 %")
    return _("over 99 %") if share >= 0.995 else f"{share:.0%}".replace("%", "\u00a0%")


def day(value: date | str | None) -> str:
    """A calendar date, or one in ISO 8601, that reads the same everywhere."""
    if not value:
        return NOTHING
    when = date.fromisoformat(value) if isinstance(value, str) else value
    return said_by(when, "d\u00a0MMM\u00a0y")


def day_in(at: datetime | None, zone: ZoneInfo | str) -> str:
    """The calendar date of an instant by the clocks of a time zone."""
    return day(_by_clocks(at, zone).date()) if at else NOTHING


def moment(at: datetime, zone: ZoneInfo | str | None = None, *, exact: bool = False) -> str:
    """A day and a time of day by the clocks of a time zone; without one in UTC, which is then said.

    exact: to the second.
    """
    local = at.astimezone(UTC) if zone is None else _by_clocks(at, zone)
    clock = f"{local:%H:%M:%S}" if exact else f"{local:%H:%M}"
    return f"{day(local.date())}, {clock}{' UTC' if zone is None else ''}"


def _by_clocks(at: datetime, zone: ZoneInfo | str) -> datetime:
    return at.astimezone(ZoneInfo(zone) if isinstance(zone, str) else zone)


def weekday(when: date) -> str:
    """The day of the week in full: "Friday"."""
    return said_by(when, "EEEE")


def month(when: date) -> str:
    """A month of a year: "March 2026"."""
    return said_by(when, "LLLL y")


def short_month(when: date | None) -> str:
    """A month of a year where there is little room: "Mar 2026". Empty without a day."""
    return said_by(when, "LLL y") if when else ""


def said_by(when: date, pattern: str) -> str:
    """A date by a pattern of Unicode Technical Standard 35, in the reader's language."""
    # "Sep", as everywhere, where British English alone would say "Sept".
    calendar_day = date.fromordinal(when.toordinal())  # times of one instant are equal, but not their days
    return _said(calendar_day, pattern, language().partition("-")[0])


@lru_cache(maxsize=DAYS_KEPT)
def _said(when: date, pattern: str, locale: str) -> str:
    """The same in a language; lists say the same days again and again, and looking a language up takes long."""
    return format_date(when, pattern, locale=locale)


def price(amount: Decimal, currency: str) -> str:
    """A price to the currency's smallest unit: what somebody is asked to pay is not rounded further."""
    return f"{marked(f'{rounded(amount, currency):,f}')} {currency}"


def money(amount: Decimal | float, currency: str) -> str:
    """An amount to the whole unit from a hundred on, to the cent below, with its currency."""
    places = 0 if abs(float(amount)) >= 100 else 2
    return f"{fixed(amount, places, parted=True)} {currency}"


def area_unit(units: str) -> str:
    """The unit of area that prices and outputs are told by: m² or ft²."""
    return unit_of(Quantity.AREA, UnitSystem(units))


def area_price(price_m2: Decimal | float, currency: str, units: str) -> str:
    """What each m² costs as an amount for each `area_unit`: with the decimals it needs, none from a hundred on."""
    shown = price_to_display(price_m2, Quantity.PRICE_BY_AREA, UnitSystem(units))
    places = len(f"{shown:f}".partition(".")[2])
    return f"{fixed(shown, 0 if shown >= 100 and shown == round(shown) else places, parted=True)} {currency}"
