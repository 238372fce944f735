"""What the clock asks for: one timetable, read by the scheduler beside the server and by Celery beat alike."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta


@dataclass(frozen=True, slots=True)
class Entry:
    """A task by its name, and either how often it runs or at what time of each day (UTC).

    Every task here may run twice without harm: what it asks for is told by rows.
    """

    name: str
    task: str
    every: timedelta | None = None
    at: time | None = None

    def __post_init__(self) -> None:
        """Refuse an entry that says neither or both."""
        if (self.every is None) == (self.at is None):
            raise ValueError(f"{self.name!r} needs either `every` or `at`, got {self.every} and {self.at}.")

    def next_after(self, moment: datetime) -> datetime:
        """The first time after `moment` (UTC) that the entry is due, having run then."""
        if self.at is None:
            assert self.every is not None  # seen to when it was made
            return moment + self.every
        today = datetime.combine(moment.astimezone(UTC).date(), self.at, UTC)
        return today if today > moment else today + timedelta(days=1)


TIMETABLE = (
    # Long after the last working hour of the day before, and before the first of the next, in Europe.
    Entry("begin the night", "maintenance.tasks.start_night", at=time(2, 30)),
    # Before the night's work, so that what that changes is in the backup of one day and what people did in both.
    Entry("make the backup", "operations.tasks.back_up", at=time(1, 30)),
    Entry("begin price lists", "maintenance.tasks.begin_price_lists", every=timedelta(hours=1)),
    Entry("return what was put off", "maintenance.tasks.return_put_off", every=timedelta(hours=1)),
    Entry("propose reports", "reporting.tasks.propose_reports", every=timedelta(hours=1)),
    Entry("tell of links that end", "reporting.tasks.tell_ending_links", at=time(3, 20)),
    Entry("clear old notices", "accounts.tasks.clear_old_notices", at=time(3, 40)),
    Entry("tell of a missing backup", "operations.tasks.tell_missing_backup", every=timedelta(hours=1)),
    Entry("tell of failures", "operations.tasks.tell_failures", every=timedelta(minutes=10)),
    Entry("send daily mails", "accounts.tasks.ask_for_digests", every=timedelta(minutes=10)),
    Entry("renew the statistics of tables", "operations.tasks.renew_statistics", every=timedelta(hours=1)),
    Entry("give a sign of life", "operations.tasks.note_clock", every=timedelta(minutes=1)),
    Entry("send again what was left", "core.tasks.sweep", every=timedelta(minutes=1)),
)
