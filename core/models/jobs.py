"""Rows that are jobs: what a worker claims, does once, and answers for. `core/services/jobs.py` writes their state."""

from datetime import datetime, timedelta
from typing import ClassVar, Self, TypeVar

from django.db import models
from django.db.models import F, Q
from django.utils.timezone import now
from django.utils.translation import gettext_noop

from core.calc.jobs import JobState

J = TypeVar("J", bound=models.Model)


class JobQuerySet(models.QuerySet[J]):
    """Jobs by what is to be done about them."""

    def wanted(self) -> Self:
        """Jobs whose work is to be done, whoever may hold them now.

        A model whose queue is a condition of its own (a record that changed since) overrides this; it may join.
        """
        return self.unfinished()

    def asked(self) -> Self:
        """Jobs that somebody asked for since they were last begun, and that nobody has begun yet.

        What failed or was left is not among them: it waits for the sweep, which comes less often.
        """
        since = Q(started_at=None) | Q(started_at__lt=F("wanted_since"))
        return self.filter(since, state=JobState.WAITING)

    def free(self, at: datetime) -> Self:
        """Jobs that nobody holds and that were not tried too often.

        Reads columns of the row alone: a conditional update by it is decided anew when the row was locked meanwhile,
        which a join or a subquery would not be.
        """
        return self.filter(~self._held(at), attempts__lt=self._most_attempts)

    def dead(self, at: datetime) -> Self:
        """Jobs whose worker is gone, and that were tried as often as they may be."""
        return self.filter(state=JobState.RUNNING, lease_until__lt=at, attempts__gte=self._most_attempts)

    def _held(self, at: datetime) -> Q:
        """What somebody alive holds. A lease that ends later than any can was given by a clock that was put right."""
        latest: datetime = at + 2 * self.model.LEASE  # type: ignore[attr-defined]  # its rows are jobs
        return Q(state=JobState.RUNNING, lease_until__range=(at, latest))

    def unfinished(self) -> Self:
        """Jobs that somebody works on or is to work on."""
        return self.filter(state__in=(JobState.WAITING, JobState.RUNNING))

    @property
    def _most_attempts(self) -> int:
        most: int = self.model.MOST_ATTEMPTS  # type: ignore[attr-defined]  # its rows are jobs
        return most


class MailQuerySet(JobQuerySet[J]):
    """Jobs that are mails: with due_at, their time, and failures, how often the mail server refused them."""

    def wanted(self) -> Self:
        """Mails whose time has come: at once, or after a refusal a while later.

        What was never refused does not wait for a clock that was put back since it was asked for.
        """
        return self.unfinished().filter(Q(failures=0) | Q(due_at__lte=now()))

    def asked(self) -> Self:
        """Mails that nobody has begun yet and whose time has come."""
        return super().asked().filter(Q(failures=0) | Q(due_at__lte=now()))


class Job(models.Model):
    """The state of a piece of work, in the row that it is about or that holds its result.

    claim_number: rises with each claim and whenever the work is asked for anew; it names the holder, so that whoever
    comes back late finds that its number is not the newest and stays silent.
    lease_until: to then the holder is taken to be alive; it moves this on while it works.
    attempts: claims since the work last ended or was asked for.
    wanted_since: when the work was last asked for. worker: which process holds it or held it last, as machine:number.

    A model of jobs takes its manager from JobQuerySet, or from a queryset that inherits from it.
    """

    # A lease is some beats of the heart long; the heart stops at the limit, so that work that hangs is taken over.
    # Clocks of machines may differ by less than a lease; where they differ by more, work is done anew, not lost.
    # With the sweep of each minute, what a killed worker left is taken up within two.
    # BULKY: columns of what came of it, which whoever claims or counts jobs leaves unread.
    # IS_LONG: so long that no page waits for it; its own says how far it is.
    IS_LONG: ClassVar[bool] = False
    BULKY: ClassVar[tuple[str, ...]] = ()
    LEASE: ClassVar[timedelta] = timedelta(minutes=1)
    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=10)
    MOST_ATTEMPTS: ClassVar[int] = 3
    TRIED_AGAIN: ClassVar[str] = gettext_noop("It failed and is tried again.")
    GIVEN_UP: ClassVar[str] = gettext_noop("It was begun too often without an end and is not tried any more.")

    state = models.CharField(
        max_length=8, choices=JobState.choices, default=JobState.WAITING.value, editable=False
    )
    claim_number = models.PositiveIntegerField(default=0, editable=False)
    lease_until = models.DateTimeField(null=True, editable=False)
    attempts = models.PositiveSmallIntegerField(default=0, editable=False)
    wanted_since = models.DateTimeField(default=now, editable=False)
    started_at = models.DateTimeField(null=True, editable=False)
    finished_at = models.DateTimeField(null=True, editable=False)
    progress_done = models.PositiveIntegerField(default=0, editable=False)
    progress_total = models.PositiveIntegerField(default=0, editable=False)
    progress_word = models.CharField(max_length=80, blank=True, editable=False)
    worker = models.CharField(max_length=80, blank=True, editable=False)
    error = models.TextField(blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def is_unfinished(self) -> bool:
        """Whether somebody works on it or is to work on it."""
        return self.state in (JobState.WAITING, JobState.RUNNING)
