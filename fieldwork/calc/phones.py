"""What phones tell of themselves, and how what they hold is compared with what they held before."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated
from uuid import UUID

from msgspec import Meta

from core.calc.choices import TextChoice
from fieldwork.calc.meta import Instant

# Common practice, no source: a refused entry that nobody corrected by then, and one that still waits for signal,
# are for the office to look at; from when it may say of either that it was dealt with.
PRESSING_AFTER = timedelta(days=1)
WAITING_PRESSES_AFTER = timedelta(days=7)
SETTLED_AFTER = timedelta(days=1)
MOST_HELD = 5_000
MOST_SENT = 20_000


class HeldState(TextChoice):
    """What became of an entry on a phone."""

    WAITING = "waiting", "Waiting"
    PARKED = "parked", "Refused"
    LOST = "lost", "Lost"
    TAKEN_AWAY = "taken_away", "Taken away"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """An entry that a phone holds. firm: the firm it is for; empty for the one acted for.

    Its words may be of any length: what is kept of them is cut, so that none of them keeps the rest from being heard.
    """

    id: UUID
    made_at: Instant
    state: str = HeldState.WAITING.value
    title: str = ""
    about: str = ""
    reason: str = ""
    firm: str = ""

    @property
    def is_parked(self) -> bool:
        """Whether the server refused it; whatever else a phone says of it, it waits."""
        return self.state == HeldState.PARKED


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """What a phone tells. now: its clock. persisted: whether its browser promised to keep what is stored.

    taken_away: what its person took off the phone on purpose, not to be stored.
    """

    device: UUID
    now: Instant
    agent: str = ""
    persisted: bool | None = None
    held: Annotated[tuple[Held, ...], Meta(max_length=MOST_HELD)] = ()
    sent: Annotated[tuple[UUID, ...], Meta(max_length=MOST_SENT)] = ()
    taken_away: Annotated[tuple[UUID, ...], Meta(max_length=MOST_SENT)] = ()


def lost_among(before: Collection[UUID], *kept: Collection[UUID]) -> frozenset[UUID]:
    """What a phone held before and is nowhere now: neither on it, nor sent by it, nor on the server."""
    return frozenset(before).difference(*kept)
