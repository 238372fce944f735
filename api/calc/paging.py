"""Lists in pages: each page names the place at which the next one begins, so that none is skipped by what is new."""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import UnusableRecordError

USUAL_SIZE, MOST_ROWS = 50, 200
BAD_CURSOR = gettext_noop(
    "%(cursor)r is no cursor of ours. Follow the address in `next` as it stands, or begin without a cursor."
)


@dataclass(frozen=True, slots=True)
class Cursor:
    """The last row of a page: when it was stored, and its id."""

    stored_at: datetime
    key: UUID

    def __str__(self) -> str:
        return urlsafe_b64encode(f"{self.stored_at.isoformat()}|{self.key}".encode()).decode()

    @classmethod
    def read(cls, text: str) -> Self:
        """Undo `str`. Raises UnusableRecordError for anything else."""
        try:
            at, _stroke, key = urlsafe_b64decode(text.encode()).decode().partition("|")
            cursor = cls(datetime.fromisoformat(at), UUID(key))
            cursor.stored_at.astimezone()
        except (ValueError, OverflowError) as error:
            raise UnusableRecordError(_(BAD_CURSOR) % {"cursor": text[:80]}) from error
        if cursor.stored_at.tzinfo is None:
            raise UnusableRecordError(_(BAD_CURSOR) % {"cursor": text[:80]})
        return cursor
