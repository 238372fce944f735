"""The numbers of the server in the open text format that programs which watch servers read."""

from collections.abc import Iterable

from prometheus_client import generate_latest
from prometheus_client.metrics_core import GaugeMetricFamily, Metric

from core.calc.jobs import JobState
from operations.calc.job_kinds import KINDS
from operations.calc.signs import SignOf
from operations.selectors.numbers import Numbers, age_of

PREFIX = "rainthrough_"


class NumbersAsMetrics:
    """Hands out what was read from the rows. No counter is kept by a process, so several processes say the same."""

    def __init__(self, numbers: Numbers) -> None:
        self.numbers = numbers

    def collect(self) -> Iterable[Metric]:
        """Every number; a kind or state that has no row is 0, so that no line comes and goes."""
        yield self._jobs()
        yield self._oldest()
        yield self._mails()
        yield self._entries()
        yield _plain(
            "forecasts_stale",
            "Forecasts that are older than what they rest on.",
            self.numbers.forecasts_stale,
        )
        yield _plain("database_bytes", "Size of the database on its disk.", self.numbers.database_bytes)
        yield _plain("disk_free_bytes", "Free space where files are kept.", self.numbers.free_bytes)
        yield from self._ages()

    def _jobs(self) -> Metric:
        family = GaugeMetricFamily(f"{PREFIX}jobs", "Jobs by kind and state.", labels=("kind", "state"))
        for kind in KINDS:
            for state in JobState:
                family.add_metric((kind.key, state.value), self.numbers.jobs.get((kind.key, state.value), 0))
        return family

    def _oldest(self) -> Metric:
        words = "How long the job that waits longest could have been begun."
        family = GaugeMetricFamily(f"{PREFIX}job_oldest_waiting_seconds", words, labels=("kind",))
        for kind in KINDS:
            family.add_metric((kind.key,), self.numbers.oldest_s.get(kind.key, 0.0))
        return family

    def _mails(self) -> Metric:
        family = GaugeMetricFamily(f"{PREFIX}mails", "Mails of all kinds by state.", labels=("state",))
        for state in (JobState.WAITING, JobState.FAILED):
            count = sum(self.numbers.jobs.get((kind.key, state.value), 0) for kind in KINDS if kind.is_mail)
            family.add_metric((state.value,), count)
        return family

    def _entries(self) -> Metric:
        words = "Entries that phones hold and that have not arrived, by what became of them."
        family = GaugeMetricFamily(f"{PREFIX}phone_entries", words, labels=("state",))
        for state, count in sorted(self.numbers.entries_held.items()):
            family.add_metric((state,), count)
        return family

    def _ages(self) -> Iterable[Metric]:
        """Left out where it never happened: 0 would read as just now."""
        for of, name, words in (
            (SignOf.BACKUP, "last_backup_age_seconds", "Time since the last backup."),
            (SignOf.CLOCK, "clock_age_seconds", "Time since the periodic work last gave a sign of life."),
        ):
            age_s = age_of(self.numbers, of)
            if age_s is not None:
                yield _plain(name, words, age_s)


def _plain(name: str, words: str, value: float) -> Metric:
    return GaugeMetricFamily(f"{PREFIX}{name}", words, value=value)


def metrics_text(numbers: Numbers) -> bytes:
    """The page that is read by such a program."""
    return generate_latest(NumbersAsMetrics(numbers))
