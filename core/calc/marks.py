"""The marks within a number as the reader's language writes them."""

from functools import lru_cache

from babel import Locale

from core.calc.translation import language

MarksTable = dict[int, str]


def marked(number: str) -> str:
    """A number written with "," between thousands and "." before decimals, as the reader's language writes it."""
    table = _table(language())
    return number.translate(table) if table else number


@lru_cache
def _table(tongue: str) -> MarksTable:
    """What takes the place of the two marks; nothing for English, which the numbers are written in.

    Babel's own formatting takes 30 times as long as Python's, and a page may hold a thousand numbers.
    """
    if tongue.startswith("en"):
        return {}
    symbols = Locale.parse(tongue, sep="-").number_symbols["latn"]
    return str.maketrans({",": symbols["group"], ".": symbols["decimal"]})
