"""What is stored as JSON: one type writes it and reads it back.

    to_payload(Reading(date(2026, 1, 31), Decimal("1.50")))       {"on": "2026-01-31", "cost": "1.50"}
    from_payload(Reading, {"on": "2026-01-31", "cost": "1.50"})   Reading(date(2026, 1, 31), Decimal("1.50"))

msgspec converts, with strict types: dates in ISO 8601, decimals as text, enums by value. A field that is missing takes
its default, so that a type may grow; one that is not known is refused, since dropping it would lose what was stored.

A `Payload` carries the number of its schema with it. A new number comes with an entry in UPGRADES that brings what has
the number before up to it. Where there is none, what is older cannot be read: what can be made anew is made anew, and
of what cannot the page says so in words.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, ClassVar, Self, TypeVar, cast

import msgspec

from core.calc.translation import gettext_noop
from core.errors import UnreadablePayloadError

T = TypeVar("T")
Upgrade = Callable[[dict[str, Any]], dict[str, Any]]
UNREADABLE = gettext_noop(
    "It was stored by another edition of this program, in another way. "
    "Nothing is lost: tell whoever runs this server."
)


def to_payload(value: Any) -> Any:
    """Plain data as JSON holds them. Raises TypeError for what has no such form, ValueError for NaN and infinity."""
    return json.loads(json.dumps(msgspec.to_builtins(value), allow_nan=False))


def from_payload(kind: type[T], stored: Any) -> T:
    """The value of type `kind` that was stored. Raises UnreadablePayloadError, with the place, where it does not."""
    name = getattr(kind, "__name__", str(kind))
    try:
        value = msgspec.convert(stored, kind)
    except msgspec.ValidationError as error:
        raise UnreadablePayloadError(f"Stored data cannot be read as {name}: {error}.") from error
    known = msgspec.json.decode(msgspec.json.encode(value))
    if known != stored:  # most often equal, and that is told soon
        for place in _unknown(stored, known, "$"):
            raise UnreadablePayloadError(f"Stored data cannot be read as {name}: {place} is not known.")
    return value


def from_text(kind: type[T], text: str | bytes) -> T:
    """The same of JSON text, of which thousands are read at once. Fields that are not known are passed over.

    For what is added up and not written back. Raises UnreadablePayloadError.
    """
    try:
        return cast(T, _decoder(cast(Any, kind)).decode(text))
    except msgspec.DecodeError as error:
        raise UnreadablePayloadError(f"Stored data cannot be read as {kind}: {error}.") from error


@lru_cache(maxsize=32)
def _decoder(kind: Any) -> msgspec.json.Decoder[Any]:
    return msgspec.json.Decoder(kind)


def _unknown(stored: Any, known: Any, at: str) -> Iterator[str]:
    """Places of fields that were stored but not read."""
    if isinstance(stored, Mapping):
        for name, part in stored.items():
            here = f"{at}.{name}"
            yield from _unknown(part, known[name], here) if name in known else (here,)
    elif isinstance(stored, list) and stored and isinstance(stored[0], Mapping | list):
        for i, (part, read) in enumerate(zip(stored, known, strict=True)):
            yield from _unknown(part, read, f"{at}[{i}]")


class Payload:
    """Base of dataclasses that are stored as JSON.

    SCHEMA: rises when what is stored changes. UPGRADES: by number, what turns the fields of that number into those
    of the next.
    """

    __slots__ = ()
    SCHEMA: ClassVar[int]
    UPGRADES: ClassVar[Mapping[int, Upgrade]] = MappingProxyType({})

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON column."""
        return {"schema": self.SCHEMA, **to_payload(self)}

    @classmethod
    def from_json(cls, stored: Any) -> Self:
        """Undo `to_json`. Raises UnreadablePayloadError for another schema without an upgrade, and for other shapes."""
        fields = dict(stored) if isinstance(stored, Mapping) else {}
        schema = fields.pop("schema", None)
        try:
            while schema in cls.UPGRADES:
                fields, schema = cls.UPGRADES[schema](fields), schema + 1
        except (LookupError, TypeError, ValueError) as error:
            raise UnreadablePayloadError(
                f"A stored {cls.__name__} does not fit its schema: {error}."
            ) from error
        if schema != cls.SCHEMA:
            raise UnreadablePayloadError(
                f"A stored {cls.__name__} has schema {schema!r}; this edition reads {cls.SCHEMA}."
            )
        return from_payload(cls, fields)

    @classmethod
    def read(cls, stored: Any) -> Self | None:
        """What is stored; None where nothing is, or where it cannot be read."""
        try:
            return None if stored is None else cls.from_json(stored)
        except UnreadablePayloadError:
            return None
