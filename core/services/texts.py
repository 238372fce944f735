"""The texts of a language in one table, instead of one for each library that brings its own."""

from collections.abc import Iterator
from functools import cache, lru_cache
from typing import Any

from django.utils.translation import trans_real

MOST_REMEMBERED = 20_000  # of some ten thousand texts


@cache
def gather_texts(language: str) -> None:
    """Let a text be sought once, in place of in a chain of tables at each of the two thousand times a page asks.

    The chain becomes one table only where all of it count alike, one and many, as the variants of English do: the rule
    for counting is that of the table in which a text is found.
    """
    first: Any = trans_real.translation(language)
    _gather(first)
    first.gettext = lru_cache(maxsize=MOST_REMEMBERED)(first.gettext)


def _gather(first: Any) -> None:
    chain = list(_below(first))
    if any(_rule(table) != _rule(first) for table in chain):
        return
    for table in chain:
        for key, text in getattr(table, "_catalog", {}).items():
            if key not in first._catalog:
                first._catalog[key] = text
    first._fallback = None


def _below(table: Any) -> Iterator[Any]:
    while table := table._fallback:
        yield table


def _rule(table: Any) -> tuple[int, ...]:
    """What counts as one and as many; a table without texts has none and leaves it to the others."""
    rule = getattr(table, "plural", lambda number: int(number != 1))
    return tuple(rule(number) for number in range(200))
