"""Stored sentences, spoken in the reader's language and units.

A sentence is stored once, in English, and read by people who prefer SI or US customary units and one language or
another. What varies in it stands there as marks, such as {rate:250.0}, {share:0.5}, {day:2027-03-01} or
{money:450.00 EUR}, and is put into words when it is read. The sentence is looked up with its marks numbered by their
kinds, so it is written in the code as `gettext_noop("{share1} on {day1}, {share2} today.")`, filled in by `format`.
"""

import re
from collections import Counter
from collections.abc import Callable
from datetime import date
from decimal import Decimal

from core.calc import format
from core.calc.marks import marked
from core.calc.paving import CleaningMethod
from core.calc.translation import gettext as _
from maintenance.calc.vocabulary import Action

_KINDS = "rate|share|day|money|number|what|method|work|rival|hindrance"
_MARK = re.compile(rf"\{{({_KINDS}):([^{{}}]+)\}}")
_HOLE = re.compile(r"\{([a-z]+[0-9]+)\}")
_NAMES_MONEY = ("money", "work", "rival")


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


def number(value: str | int) -> str:
    """The mark of a number as it is written in English."""
    return f"{{number:{value}}}"


def what(action: Action, way: str) -> str:
    """The mark of what is advised. way: of cleaning; empty where it has none."""
    return f"{{what:{action.value}/{way}}}"


def method(way: CleaningMethod) -> str:
    """The mark of a way of cleaning."""
    return f"{{method:{way.value}}}"


def work(way: CleaningMethod, price: Decimal, currency: str) -> str:
    """The mark of a way of cleaning at its price."""
    return f"{{work:{way.value}/{price:.2f} {currency}}}"


def rival(way: CleaningMethod, price: Decimal, saves: Decimal, currency: str) -> str:
    """The mark of what a way of cleaning would save against waiting, its price counted; below 0 it costs more."""
    return f"{{rival:{way.value}/{price:.2f} {currency}/{saves:.2f} {currency}}}"


def hindrance(why: str, days: int = 0) -> str:
    """The mark of why a day is no good for work. why: a constant; days: that the work takes, 0 where it matters not."""
    return f"{{hindrance:{why}/{days}}}"


def names_money(sentence: str) -> bool:
    """Whether an amount of money stands in the sentence."""
    return any(found[1] in _NAMES_MONEY for found in _MARK.finditer(sentence))


def speak(sentence: str, units: str) -> str:
    """The sentence in the reader's language, with its marks in words; text that is none of ours as it is."""
    seen: Counter[str] = Counter()
    said: dict[str, str] = {}

    def hole(found: re.Match[str]) -> str:
        seen[found[1]] += 1
        name = f"{found[1]}{seen[found[1]]}"
        said[name] = _WORDS[found[1]](found[2], units)
        return f"{{{name}}}"

    written = _MARK.sub(hole, sentence)
    # Looking a text up makes one sign of the two that end lines elsewhere; no sentence of ours has any.
    told = written if "\r" in written else _(written)
    return _HOLE.sub(lambda found: said.get(found[1], found[0]), told)


def _money(said: str) -> str:
    amount, currency = said.split()
    return format.money(float(amount), currency)


def _method(value: str) -> str:
    return CleaningMethod(value).label


def _work(value: str) -> str:
    way, price = value.split("/")
    return _("{method} at {price}").format(method=_method(way), price=_money(price))


def _rival(value: str) -> str:
    work_at, _slash, saves = value.rpartition("/")
    amount = _money(saves.removeprefix("-"))
    if saves.startswith("-"):
        return _("{work} would cost {amount} more than waiting").format(work=_work(work_at), amount=amount)
    return _("{work} would save {amount}").format(work=_work(work_at), amount=amount)


def _hindrance(value: str) -> str:
    why, _slash, days = value.rpartition("/")
    if days == "0":
        return _(why)
    return _("{reason} before {days} days of work end").format(reason=_(why), days=days)


def _what(value: str) -> str:
    action, way = value.split("/")
    return Action(action).in_words(way)


_WORDS: dict[str, Callable[[str, str], str]] = {
    "rate": lambda value, units: format.format_rate(float(value), units),
    "share": lambda value, _units: format.percent(float(value)),
    "day": lambda value, _units: format.day(value),
    "money": lambda value, _units: _money(value),
    "number": lambda value, _units: marked(value),
    "what": lambda value, _units: _what(value),
    "method": lambda value, _units: _method(value),
    "work": lambda value, _units: _work(value),
    "rival": lambda value, _units: _rival(value),
    "hindrance": lambda value, _units: _hindrance(value),
}
