"""Which column of a sheet is meant by a header, and what a sheet is about."""

import re
import unicodedata
from collections.abc import Mapping, Sequence

from exchange.calc.kinds import KINDS, KindOfSheet, SheetKind
from exchange.calc.unit_words import Unit, split_unit, unit_named

_NOT_WORDS = re.compile(r"[^a-z0-9]+")
_REQUIRED_WORTH = 3  # how much more a column that a kind cannot do without says of it


def plain(text: str) -> str:
    """A header or a name without case, accents, blanks and signs: “Prüf-Datum ” is “prufdatum”."""
    without = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return _NOT_WORDS.sub("", "".join(c for c in without if not unicodedata.combining(c)).casefold())


def _names_of(kind: KindOfSheet) -> dict[str, str]:
    """Key of a column by every name it goes by; what a column is called comes before what else it is called."""
    names: dict[str, str] = {}
    for column in kind.columns:
        for name in (column.key, column.label, split_unit(column.label)[0]):
            names.setdefault(plain(name), column.key)
    for column in kind.columns:
        for name in column.other_words:
            names.setdefault(plain(name), column.key)
    return names


_NAMES = {kind: _names_of(KINDS[kind]) for kind in SheetKind}


def suggest_columns(
    kind: SheetKind, headers: Sequence[str], learnt: Mapping[str, str] | None = None
) -> tuple[str, ...]:
    """The key of a column for each header, empty where none is known; no key is given twice.

    learnt: keys by plain header, as a person of the firm matched them before; an empty one was left out on purpose.
    """
    before = learnt or {}
    taken: set[str] = set()
    found = []
    for header in headers:
        known = before.get(plain(header))
        key = _suggested(kind, header) if known is None else known
        if key in taken or key not in KINDS[kind].by_key:
            key = ""
        taken.add(key)
        found.append(key)
    return tuple(found)


def _suggested(kind: SheetKind, header: str) -> str:
    names = _NAMES[kind]
    whole, (name, unit) = plain(header), split_unit(header)
    if whole in names:
        return names[whole]
    key = names.get(plain(name), "") if unit else ""
    return key if key and fits(kind, key, unit) else ""


def fits(kind: SheetKind, key: str, unit: Unit | None) -> bool:
    """Whether a column can be in the unit that its header says."""
    own = unit_named(KINDS[kind].by_key[key].units[0])
    return unit is None or (own is not None and own.dimension == unit.dimension)


def suggest_kind(name: str, headers: Sequence[str]) -> SheetKind | None:
    """What a sheet of that name with those headers holds; None where nothing says so."""
    called = plain(name)
    for kind in SheetKind:
        if called and called in {plain(kind.value), plain(kind.label), *map(plain, KINDS[kind].other_names)}:
            return kind
    best = max(SheetKind, key=lambda kind: _likeness(kind, headers))
    return best if _likeness(best, headers) >= _REQUIRED_WORTH else None


def _likeness(kind: SheetKind, headers: Sequence[str]) -> int:
    """How much the headers speak for a kind; less than nothing where one it cannot do without is missing."""
    found = {key for key in suggest_columns(kind, headers) if key}
    needed = {column.key for column in KINDS[kind].columns if column.required} - {"site", "location"}
    return len(found) + _REQUIRED_WORTH * len(needed & found) - 2 * _REQUIRED_WORTH * len(needed - found)
