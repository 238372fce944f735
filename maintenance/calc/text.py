"""Stored sentences whose numbers are spoken in the reader's units.

A sentence is stored once and read by people who prefer SI or US customary units. Its numbers stand in it as marks,
such as {rate:250.0}, {share:0.5}, {day:2027-03-01} or
{money:450.00 EUR}, and are put into words when it is read.
"""

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal

from core.calc import format

_MARK = re.compile(r"\{(rate|share|day|money):([^{}]+)\}")


def rate(rate_mm_h: float) -> str:
    """The mark of a rate in mm/h."""
    return f"{{rate:{rate_mm_h:.6g}}}"


def share(value: float) -> str:
    """The mark of a probability or share, 0 to 1."""
    return f"{{share:{value:.4f}}}"


def day(value: date) -> str:
    """The mark of a calendar date."""
    return f"{{day:{value.isoformat()}}}"


def money(amount: Decimal | float, currency: str) -> str:
    """The mark of an amount of money."""
    return f"{{money:{amount:.2f} {currency}}}"


def names_money(sentence: str) -> bool:
    """Whether an amount of money stands in the sentence."""
    return any(found[1] == "money" for found in _MARK.finditer(sentence))


def speak(sentence: str, units: str) -> str:
    """The sentence with its marks in words. Text without marks comes back as it is."""
    return _MARK.sub(lambda found: _WORDS[found[1]](found[2], units), sentence)


_WORDS: dict[str, Callable[[str, str], str]] = {
    "rate": lambda value, units: format.format_rate(float(value), units),
    "share": lambda value, _: format.percent(float(value)),
    "day": lambda value, _: format.day(value),
    "money": lambda value, _: format.money(float(value.split()[0]), value.split()[1]),
}
