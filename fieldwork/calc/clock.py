"""By how much a phone's clock is wrong, and the time at which something was made on it."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

TOLERANCE = timedelta(seconds=120)  # a form takes longer than that; common practice, no source
SLOWEST = timedelta(minutes=30)  # that an entry with a video may be under way; common practice, no source
NONE = timedelta(0)


@dataclass(frozen=True, slots=True)
class KnownOffset:
    """What has to be added to the phone's clock to have the server's, as it was at a contact; `at` by the server's."""

    offset: timedelta
    at: datetime


@dataclass(frozen=True, slots=True)
class Stamps:
    """When an entry was made and sent by the phone's clock, and received by the server's.

    sent_at: None where it came in a file, so that nothing was measured at its sending.
    """

    made_at: datetime
    sent_at: datetime | None
    received_at: datetime
    known: KnownOffset | None = None

    @property
    def offset(self) -> timedelta:
        """What has to be added to the phone's clock to have the server's: zero where that is within the tolerance.

        As it was at the sending, unless the offset of an earlier contact says better how it was: where the entry would
        else have been made after it arrived or before that contact, somebody has set the clock since; and where the
        two differ by no more than a slow way here makes up, the way is what is seen.
        """
        known = self.known.offset if self.known else NONE
        best = known if self.sent_at is None else self._at_sending(self.received_at - self.sent_at)
        return best if abs(best) > TOLERANCE else NONE

    def _at_sending(self, offset: timedelta) -> timedelta:
        if self.known is None or not self._can_be(self.known.offset):
            return offset
        was_slow = NONE <= offset - self.known.offset <= SLOWEST
        return self.known.offset if was_slow or not self._can_be(offset) else offset

    def _can_be(self, offset: timedelta) -> bool:
        made = shifted(self.made_at, offset)
        after = self.known is None or made >= shifted(self.known.at, -TOLERANCE)
        return after and made <= shifted(self.received_at, TOLERANCE)

    @property
    def corrected(self) -> datetime:
        """When the entry was made, by the server's clock, in UTC."""
        return shifted(self.made_at, self.offset)


def shifted(at: datetime, by: timedelta) -> datetime:
    """A time moved, in UTC; where the calendar has no such time, the time itself."""
    try:
        return at.astimezone(UTC) + by
    except OverflowError:
        return at
