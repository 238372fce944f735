"""Dataclasses to plain data that JSON can hold, and back: what is stored as JSON has one type that writes and reads it.

    to_payload(Reading(date(2026, 1, 31), Decimal("1.50")))     {"on": "2026-01-31", "cost": "1.50"}
    from_payload(Reading, {"on": "2026-01-31", "cost": "1.50"})  Reading(date(2026, 1, 31), Decimal("1.50"))

Known are dataclasses and named tuples, text, numbers, yes and no, dates, times, `Decimal`, `UUID`, enums, `None`,
unions with `None`, tuples, lists and mappings with text as keys. A field that is missing takes its default, so
that a type may grow; one that is not known is refused, since dropping it would lose what was stored.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import Enum
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from core.errors import UnreadablePayloadError

T = TypeVar("T")


def to_payload(value: Any) -> Any:
    """Plain data of a value. Raises TypeError for what has no plain form, ValueError for a number JSON has not."""
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return _finite(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal | UUID):
        return str(value)
    return _parts(value)


def _finite(value: float) -> float:
    if not isfinite(value):
        raise ValueError(f"JSON has no number {value}. Store None where there is no value.")
    return value


def _parts(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_payload(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: to_payload(part) for name, part in value._asdict().items()}
    if isinstance(value, list | tuple):
        return [to_payload(part) for part in value]
    if isinstance(value, Mapping):
        return {_key(key): to_payload(part) for key, part in value.items()}
    raise TypeError(f"{type(value).__name__} has no plain form, got {value!r}.")


def _key(key: Any) -> str:
    if not isinstance(key, str):
        raise TypeError(f"The keys of a stored mapping are text, got {key!r}.")
    return str(key)


def from_payload(kind: type[T], data: Any) -> T:
    """The value of type `kind` that was stored. Raises UnreadablePayloadError where the data do not fit."""
    read: T = _read(kind, data, "")
    return read


def _read(kind: Any, data: Any, at: str) -> Any:
    if kind is Any:
        return data
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return _read_either(kind, data, at)
    if origin is not None:
        return _read_many(origin, get_args(kind), data, at)
    if is_dataclass(kind) or _is_named_tuple(kind):
        return _read_fields(kind, data, at)
    return _read_single(kind, data, at)


def _is_named_tuple(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields")


def _read_either(kind: Any, data: Any, at: str) -> Any:
    """Of a union only one with None can be told apart from plain data."""
    some = [one for one in get_args(kind) if one is not NoneType]
    if len(some) != 1:
        raise TypeError(f"Plain data cannot tell {kind} apart: only a union with None is known.")
    return None if data is None else _read(some[0], data, at)


def _read_many(origin: Any, kinds: tuple[Any, ...], data: Any, at: str) -> Any:
    if issubclass(origin, Mapping):
        pairs = _expect(dict, data, at).items()
        return {key: _read(kinds[1], part, f"{at}.{key}") for key, part in pairs}
    parts = _expect(list, data, at)
    if issubclass(origin, tuple) and kinds[-1] is not Ellipsis:
        return _read_tuple(kinds, parts, at)
    if not issubclass(origin, tuple | list | Sequence):
        raise TypeError(f"A stored collection is a tuple, a list or a mapping, not {origin.__name__}.")
    read = [_read(kinds[0], part, f"{at}[{i}]") for i, part in enumerate(parts)]
    return read if issubclass(origin, list) else tuple(read)


def _read_tuple(kinds: tuple[Any, ...], parts: list[Any], at: str) -> tuple[Any, ...]:
    if len(parts) != len(kinds):
        raise _unreadable(at, f"{len(kinds)} values", parts)
    return tuple(
        _read(kind, part, f"{at}[{i}]") for i, (kind, part) in enumerate(zip(kinds, parts, strict=True))
    )


@cache
def _fields_of(kind: Any) -> tuple[dict[str, Any], frozenset[str]]:
    """The type of each field, and the names of those that may be missing."""
    hints = get_type_hints(kind)
    if _is_named_tuple(kind):
        return {name: hints[name] for name in kind._fields}, frozenset(kind._field_defaults)
    optional = {f.name for f in fields(kind) if f.default is not MISSING or f.default_factory is not MISSING}
    return {f.name: hints[f.name] for f in fields(kind)}, frozenset(optional)


def _read_fields(kind: Any, data: Any, at: str) -> Any:
    stored = _expect(dict, data, at)
    known, optional = _fields_of(kind)
    if unknown := sorted(stored.keys() - known.keys()):
        raise _unreadable(at, f"no {', '.join(unknown)} in {kind.__name__}", sorted(stored))
    if missing := sorted(known.keys() - stored.keys() - optional):
        raise _unreadable(at, f"{', '.join(missing)} in {kind.__name__}", sorted(stored))
    return kind(**{name: _read(known[name], part, f"{at}.{name}") for name, part in stored.items()})


def _read_single(kind: Any, data: Any, at: str) -> Any:
    if kind is float:
        return float(_expect(int | float, data, at))
    if kind in (str, int, bool):
        return _expect(kind, data, at)
    if kind in _FROM_TEXT:
        return _attempt(_FROM_TEXT[kind], _expect(str, data, at), kind, at)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return _attempt(kind, data, kind, at)
    raise TypeError(f"{kind!r} has no plain form.")


_FROM_TEXT: dict[type, Callable[[str], Any]] = {
    date: date.fromisoformat,
    datetime: datetime.fromisoformat,
    Decimal: Decimal,
    UUID: UUID,
}


def _attempt(read: Callable[[Any], Any], data: Any, kind: type, at: str) -> Any:
    try:
        return read(data)
    except (ValueError, InvalidOperation) as error:
        raise _unreadable(at, f"a {kind.__name__}", data) from error


def _expect(kind: Any, data: Any, at: str) -> Any:
    yes_or_no = isinstance(data, bool) and kind is not bool  # Python counts True as a number
    if yes_or_no or not isinstance(data, kind):
        raise _unreadable(at, f"a {getattr(kind, '__name__', 'number')}", data)
    return data


def _unreadable(at: str, wanted: str, got: Any) -> UnreadablePayloadError:
    place = at.lstrip(".") or "the whole"
    return UnreadablePayloadError(
        f"Stored data cannot be read at {place}: expected {wanted}, got {got!r:.80}."
    )
