"""Which column of a sheet is meant by a header, and what a sheet is about."""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence

from exchange.calc.french_words import HEADERS, SHEETS
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.tongues import in_every_language
from exchange.calc.unit_words import Unit, split_unit, unit_named

_NOT_WORDS = re.compile(r"[^a-z0-9]+")
_REQUIRED_WORTH = 3  # how much more a column that a kind cannot do without says of it


def plain(text: str) -> str:
    """A header or a name without case, accents, blanks and signs: “Prüf-Datum ” is “prufdatum”."""
    without = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return _NOT_WORDS.sub("", "".join(c for c in without if not unicodedata.combining(c)).casefold())


def _names_of(kind: SheetKind) -> dict[str, str]:
    """Key of a column by every name it goes by; what a column is called comes before what else it is called."""
    columns, names = KINDS[kind].columns, dict[str, str]()
    for labels in in_every_language(lambda: [column.said for column in columns]):
        for column, label in zip(columns, labels, strict=True):
            for name in (column.key, column.label, label, split_unit(label)[0]):
                names.setdefault(plain(name), column.key)
    for column in columns:
        for name in (*column.other_words, *HEADERS[kind.value].get(column.key, ())):
            names.setdefault(plain(name), column.key)
    return names


def suggest_columns(
    kind: SheetKind, headers: Sequence[str], learnt: Mapping[str, str] | None = None
) -> tuple[str, ...]:
    """The key of a column for each header, empty where none is known; no key is given twice.

    learnt: keys by plain header, as a person of the firm matched them before; an empty one was left out on purpose.
    """
    before, names = learnt or {}, _names_of(kind)
    taken: set[str] = set()
    found = []
    for header in headers:
        known = before.get(plain(header))
        key = _suggested(kind, names, header) if known is None else known
        if key in taken or key not in KINDS[kind].by_key:
            key = ""
        taken.add(key)
        found.append(key)
    return tuple(found)


def _suggested(kind: SheetKind, names: Mapping[str, str], header: str) -> str:
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
        if called and called in map(plain, _names_of_sheet(kind)):
            return kind
    likeness = {kind: _likeness(kind, headers) for kind in SheetKind}
    best = max(SheetKind, key=likeness.__getitem__)
    return best if likeness[best] >= _REQUIRED_WORTH else None


def _names_of_sheet(kind: SheetKind) -> Iterator[str]:
    yield from (kind.value, *in_every_language(lambda: kind.label))
    yield from (*KINDS[kind].other_names, *SHEETS[kind.value])


def _likeness(kind: SheetKind, headers: Sequence[str]) -> int:
    """How much the headers speak for a kind; less than nothing where one it cannot do without is missing."""
    found = {key for key in suggest_columns(kind, headers) if key}
    needed = {column.key for column in KINDS[kind].columns if column.required} - {"site", "location"}
    return len(found) + _REQUIRED_WORTH * len(needed & found) - 2 * _REQUIRED_WORTH * len(needed - found)
