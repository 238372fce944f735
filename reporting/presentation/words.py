"""A snapshot as the text a reader gets: days and sentences in words, numbers with the reader's units."""

from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from core.calc.bounds import Bound
from core.calc.format import NOTHING, day, fixed, format_rate, short_month
from reporting.calc.parts import AgreementPart
from reporting.calc.snapshots import ReportedSurface
from reporting.calc.values import BoundedRate, Money, UnitText


def worded(value: Any, units: str) -> Any:
    """Plain data as templates and papers take them: mappings, lists, text and numbers. Raises TypeError for others.

    What there is not becomes empty text, and numbers without a type of their own stay numbers.
    """
    if value is None:
        return ""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, UnitText):
        return value.in_units(units)
    if isinstance(value, BoundedRate):
        return rate_words(value, units)
    if isinstance(value, Money):
        return money_words(value)
    return _worded_parts(value, units)


def _worded_parts(value: Any, units: str) -> Any:
    if isinstance(value, date):
        return day(value)
    if isinstance(value, UUID):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: worded(getattr(value, field.name), units) for field in fields(value)}
    if isinstance(value, list | tuple):
        return [worded(part, units) for part in value]
    raise TypeError(f"A snapshot holds no {type(value).__name__}, got {value!r}.")


def rate_words(rate: BoundedRate, units: str) -> str:
    """A rate with its unit, behind the sign of its bound where it is one."""
    text = format_rate(rate.rate_mm_h, units)
    return text if rate.bound is Bound.EXACT else f"{rate.bound} {text}"


def money_words(money: Money) -> str:
    """An amount with its currency."""
    return f"{fixed(money.amount, 2, parted=True)} {money.currency}"


def all_money_words(amounts: Iterable[Money]) -> str:
    """Amounts in several currencies, one after the other."""
    return ", ".join(money_words(amount) for amount in amounts)


def agreed_terms(agreement: AgreementPart) -> str:
    """Price and term of an agreement, behind what it asks for; nothing where neither is known."""
    price = agreement.price_per_year
    said = ", ".join(
        filter(
            None, (_("{price} a year").format(price=money_words(price)) if price else "", _term(agreement))
        )
    )
    return _("; ") + said if said else ""


def _term(agreement: AgreementPart) -> str:
    """From when until when it holds; empty where neither is known."""
    since, until = agreement.since, agreement.until
    if since and until:
        said = _("from {since} until {until}")
    elif since:
        said = _("from {since}")
    else:
        said = _("until {until}") if until else ""
    return said.format(since=day(since), until=day(until))


def even_chance_words(surface: ReportedSurface) -> str:
    """The month in which a surface is as likely as not at its limit; that it is there already."""
    reached = surface.standing.below_50_on
    if reached and reached <= surface.standing.today:
        return _("reached")
    if surface.standing.below_50_on:
        return short_month(surface.standing.below_50_on)
    return _("not in ten years") if surface.forecast and surface.forecast.decline else NOTHING
