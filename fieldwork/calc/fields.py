"""What a phone kept of a form, as the form's view is to receive it."""

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from fieldwork.calc.clock import NONE, Stamps, shifted

Fields = Sequence[tuple[str, str]]

DEVICE_ID = "device_id"
INSTANTS = ("made_at", "finished_at")  # what a stopwatch or the page itself filled in by the phone's clock
# Of one page or one moment rather than of what was typed: two sendings of the same differ in them.
NOT_TYPED = ("csrfmiddlewaretoken", "made_at", "seen", DEVICE_ID)


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file of an entry: its field, and the SHA-256 of its content in hexadecimal.

    Its name is left out: a browser that sends it and a copy that holds it write the same name in two ways.
    """

    field: str
    sha256: str


def digest(path: str, fields: Fields, files: Iterable[SentFile]) -> str:
    """The same for two sendings of one entry, and for nothing else: SHA-256 in hexadecimal."""
    typed = sorted([name, value] for name, value in fields if _last_part(name) not in NOT_TYPED)
    sent = sorted([one.field, one.sha256] for one in files)
    return sha256(json.dumps([path, typed, sent]).encode()).hexdigest()


def with_id(fields: Fields, entry: UUID) -> list[tuple[str, str]]:
    """The fields with the ids of the forms made from the entry's, so that a row is stored once whoever sends it."""
    kept = [(name, str(uuid5(entry, name)) if _is_id(name) else value) for name, value in fields]
    return [*((name, value) for name, value in kept if name != DEVICE_ID), (DEVICE_ID, str(entry))]


def by_our_clock(
    fields: Fields, stamps: Stamps, by_clock: Collection[str], zone: ZoneInfo
) -> list[tuple[str, str]]:
    """The fields with what the phone's clock filled in moved to where the server's clock was.

    by_clock: dates that the phone filled in and nobody touched; they become the day in `zone` when it was made.
    Nothing changes where the clock was right.
    """
    offset = stamps.offset
    if offset == NONE:
        return list(fields)
    day = stamps.corrected.astimezone(zone).date().isoformat()
    return [(name, day if name in by_clock else _moved(name, value, offset)) for name, value in fields]


def _moved(name: str, value: str, offset: timedelta) -> str:
    at = _instant(value) if _last_part(name) in INSTANTS else None
    return shifted(at, offset).isoformat() if at else value


def _instant(value: str) -> datetime | None:
    """The instant that a field holds; UTC where it says no zone, as the form reads it. None for what is none."""
    try:
        at = datetime.fromisoformat(value.strip())
    except ValueError:
        return None
    return at if at.tzinfo else at.replace(tzinfo=UTC)


def _is_id(name: str) -> bool:
    return name != DEVICE_ID and name.endswith(DEVICE_ID)


def _last_part(name: str) -> str:
    """The field's name without the prefix of a form among several."""
    return name.rpartition("-")[2]
