"""Columns of money: what they hold and what is refused."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.currency import CURRENCIES, MOST_MINOR_UNITS
from core.models.decimals import DecimalColumn

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise as StrOrPromise

UNKNOWN = gettext_noop("%(code)r is not a currency of ISO 4217. Give its three-letter code, such as EUR.")


def currency_known(code: str) -> None:
    """Refuse a code that no currency has."""
    if code not in CURRENCIES:
        raise ValidationError(_(UNKNOWN), params={"code": code})


def money_field(words: "StrOrPromise", **options: Any) -> "DecimalColumn[Any, Any]":
    """An amount or a price, of any currency and not below zero."""
    given: dict[str, Any] = {
        "max_digits": 14,
        "decimal_places": MOST_MINOR_UNITS,
        "validators": [MinValueValidator(Decimal(0))],
    }
    return DecimalColumn(words, **given | options)
