"""What comes with an entry from a phone, read into types."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, TypeVar
from uuid import UUID

import msgspec
from msgspec import Meta

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from fieldwork.calc.clock import KnownOffset, Stamps

T = TypeVar("T")
Instant = Annotated[datetime, Meta(tz=True)]
Words = Annotated[str, Meta(max_length=2_000)]
MOST_OFFSET_MS = 10**13  # some 300 years
PATH = r"^/(?!/)[^\x00\\]*$"  # of this server

UNREADABLE = gettext_noop(
    "What the phone sent cannot be read: %s. Load the page anew on the phone while it has signal, then send again; "
    "the entry stays on the phone."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryMeta:
    """An entry as the phone kept it, files aside. Times are by the phone's clock but for `known_at`.

    firm: id of the firm acted for; empty where none is known. by_clock: names of date fields that the phone filled
    in and nobody touched. known_offset_ms: what was to be added to the phone's clock at its last contact.
    units: in which the form was shown; empty for those of the person. title, about, form_version: of any length; what
    is kept of them is cut.
    """

    path: Annotated[str, Meta(pattern=PATH, max_length=2_000)]
    made_at: Instant
    sent_at: Instant
    device: UUID
    person: Annotated[str, Meta(max_length=64)]
    fields: tuple[tuple[str, str], ...]
    firm: Annotated[str, Meta(max_length=64)] = ""
    form_version: str = ""
    title: str = ""
    about: str = ""
    by_clock: tuple[str, ...] = ()
    known_offset_ms: Annotated[int, Meta(ge=-MOST_OFFSET_MS, le=MOST_OFFSET_MS)] | None = None
    known_at: Instant | None = None
    units: UnitSystem | None = None

    @property
    def known(self) -> KnownOffset | None:
        """How the phone's clock was at its last contact."""
        if self.known_offset_ms is None or self.known_at is None:
            return None
        return KnownOffset(timedelta(milliseconds=self.known_offset_ms), self.known_at)

    def stamps(self, received_at: datetime) -> Stamps:
        """Its times, where the phone sent it itself; received_at: by the server's clock."""
        return Stamps(self.made_at, self.sent_at, received_at, self.known)


def read(kind: type[T], sent: bytes | str) -> T:
    """A value of type `kind` from JSON. Raises UnusableRecordError with what is wrong and where."""
    try:
        return msgspec.json.decode(sent, type=kind)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise UnusableRecordError(_(UNREADABLE) % str(error).rstrip(".")) from error


def convert(kind: type[T], given: object) -> T:
    """The same from plain data that were read already."""
    try:
        return msgspec.convert(given, kind)
    except msgspec.ValidationError as error:
        raise UnusableRecordError(_(UNREADABLE) % str(error).rstrip(".")) from error
