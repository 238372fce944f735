"""Work done in the background, once, whatever dies meanwhile.

A row is the job; what delivers it (a broker, this process itself) is only a nudge, and may come twice, late or never.
A worker claims the row by one conditional update with a lease, keeps the lease up while it lives, and whatever it
writes arrives only while it is the holder. The sweep finds what was left: waiting, or held by somebody who died. Work
that was begun too often without an end is given up in words.

To add one:

    class RoutePlan(Row, Job):                     # models: the row that is the job; it may hold the result too
        objects = JobQuerySet.as_manager()

    @jobs.works_on(RoutePlan)                      # services
    def plan_routes(plan: RoutePlan, claim: jobs.Claim) -> None:
        for number, day in enumerate(days, start=1):
            ...
            claim.progress(number, len(days), "days planned")
        claim.finish(result=...)                   # columns of the row; in a transaction with whatever belongs to it

    plan = RoutePlan.objects.create(...)           # the service that asks for it
    jobs.nudge(plan)

and, where it is asked for by the clock, a task of its own that asks, with a line in `operations/calc/timetable.py`.
Jobs that come by the thousand are done in batches (`core/services/batches.py`): `works_on` takes a function that
reads at once what many of them need, and the path by which they are shared out fairly, and gives the work its part.

`Job` names lease, time limit and number of attempts; a model may set its own. Where the queue is a condition rather
than a state, its queryset overrides `wanted`. The module of the work is imported where its app starts, in `ready`.

The work reads and computes outside any transaction. It raises UnusableRecordError for what only people can mend:
that is an answer, and is not tried again.
"""

import logging
import os
import socket
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from time import monotonic
from typing import Any, TypeVar
from uuid import UUID

from django.db import DatabaseError, connection, transaction
from django.db.models import F
from django.utils.timezone import now

from core.calc.jobs import JobState
from core.errors import ClaimLostError, UnusableRecordError
from core.models.jobs import Job, JobQuerySet
from core.services.storage import is_full

log = logging.getLogger(__name__)

BEATS_A_LEASE = 4
PROGRESS_EVERY_S = 1.0

J = TypeVar("J", bound=Job)


class Outcome(StrEnum):
    """What came of a delivery."""

    DONE = "done"
    FAILED = "failed"
    FRESH = "fresh"  # nothing was to be done
    HELD = "held"  # somebody else is at it, or it was tried too often
    LOST = "claim lost"
    GONE = "gone"


class Claim:
    """A worker's hold on a job. Whatever it writes arrives only while the hold stands; otherwise ClaimLostError."""

    def __init__(self, job: Job, number: int, attempt: int) -> None:
        self.job, self.number, self.attempt = job, number, attempt
        self.outcome: Outcome | None = None
        self._ends_at = monotonic() + job.TIME_LIMIT.total_seconds()
        self._said_at, self._word = float("-inf"), ""

    def finish(self, **columns: Any) -> None:
        """Store what came of it with the job's end. columns: of the row."""
        self._end(Outcome.DONE, ended(JobState.DONE) | columns)

    def fail(self, error: str, **columns: Any) -> None:
        """End the job without a result, in words for people; it is not tried again."""
        self._end(Outcome.FAILED, ended(JobState.FAILED, error) | columns)

    def progress(self, done: int, total: int, word: str = "") -> None:
        """Say how far the work is, for pages to read: at each new word, and of steps at most one a second.

        A good place for long work to find out that its claim is lost.
        """
        soon = monotonic() - self._said_at < PROGRESS_EVERY_S
        if done < total and word == self._word and soon:
            return
        self._said_at, self._word = monotonic(), word
        said = {"progress_done": done, "progress_total": total, "progress_word": word}
        self._write(said | {"lease_until": self._next_lease()})

    def beat(self) -> bool:
        """Move the lease on; False once the hold is lost or the work has taken longer than it may."""
        in_time = monotonic() < self._ends_at
        return in_time and bool(self._mine().update(lease_until=self._next_lease()))

    def give_back(self, *, no_room: bool = False) -> None:
        """After a failure nobody foresaw: to be tried again, or given up in words after too many attempts.

        no_room: the disk was full, which is no fault of the job: it is tried until there is room.
        """
        if no_room or self.attempt < self.job.MOST_ATTEMPTS:
            left: dict[str, Any] = {"state": JobState.WAITING, "error": self.job.TRIED_AGAIN}
            left["attempts"] = self.attempt - no_room
        else:
            left = {"state": JobState.FAILED, "error": self.job.GIVEN_UP, "finished_at": now()}
        self._mine().update(lease_until=None, **left)

    def begin(self) -> None:
        """Of a job claimed with others: only from now on is somebody at it, so only now does the attempt count."""
        self.attempt += 1
        begun = {"attempts": self.attempt, "started_at": now(), "lease_until": self._next_lease()}
        self._write(begun | {"worker": this_process()})

    def put_back(self) -> None:
        """When the process is told to end: somebody else may take it at once, and the attempt does not count."""
        begun = {"attempts": self.attempt - 1, "started_at": None}
        self._mine().update(state=JobState.WAITING, lease_until=None, **begun)

    def _end(self, outcome: Outcome, columns: dict[str, Any]) -> None:
        self._write(columns)
        self.outcome = outcome

    def _write(self, columns: dict[str, Any]) -> None:
        if not self._mine().update(**columns):
            raise ClaimLostError(f"{self.job} is held by somebody else, or was asked for anew.")

    def _mine(self) -> Any:
        rows = type(self.job)._base_manager
        return rows.filter(pk=self.job.pk, state=JobState.RUNNING, claim_number=self.number)

    def _next_lease(self) -> datetime:
        return now() + self.job.LEASE


def ended(state: JobState, error: str = "") -> dict[str, Any]:
    """What the row of a job says once it has ended."""
    return {"state": state, "error": error, "attempts": 0, "lease_until": None, "finished_at": now()}


def this_process() -> str:
    """Machine and number of this process, for people who look for it."""
    return f"{socket.gethostname()[:64]}:{os.getpid()}"


Gather = Callable[[Sequence[Any]], Mapping[UUID, Any]]
Quick = Callable[[Sequence[Claim]], None]


@dataclass(frozen=True, slots=True)
class Kind:
    """A model of jobs with its work, and what its sweep does first; the rest is of those done in batches."""

    model: type[Job]
    work: Callable[..., None]
    before_sweep: Callable[[], object]
    gather: Gather | None = None
    shared_by: str = ""
    quick: Quick | None = None

    @property
    def rows(self) -> JobQuerySet[Any]:
        """Every job of the kind, what came of them unread."""
        rows: JobQuerySet[Any] = self.model.objects.defer(*self.model.BULKY)  # type: ignore[attr-defined]
        return rows


_KINDS: dict[str, Kind] = {}
_deliver: list[Callable[[str, str], object]] = []
_deliver_beside: list[Callable[[str, str], object]] = []
_deliver_batches: list[Callable[[str], object]] = []


def works_on(
    model: type[J],
    *,
    before_sweep: Callable[[], object] = lambda: None,
    gather: Gather | None = None,
    shared_by: str = "",
    quick: Quick | None = None,
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Have the decorated function do the work of such jobs. A job whose work returns without ending it is done.

    before_sweep: brings rows into being, or asks for work, that the sweep shall find.
    gather: reads what many jobs need, by their ids; the work is given its part after the claim. shared_by: the path
    to whom they are done for, such as the firm, so that nobody waits for the many jobs of somebody else.
    quick: ends at once those of many claimed jobs that hardly need work, and leaves the others for the work.
    """

    def register(work: Callable[..., None]) -> Callable[..., None]:
        _KINDS[model._meta.label] = Kind(model, work, before_sweep, gather, shared_by, quick)
        return work

    return register


def deliver_by(
    deliver: Callable[[str, str], object],
    batches: Callable[[str], object],
    beside: Callable[[str, str], object] | None = None,
) -> None:
    """Have jobs delivered so from now on; it is given the label of the model and the id of the row.

    batches: has jobs of the kind that is named done in batches, whichever are to be done.
    beside: delivers a job that whoever asks for it shall not wait for; as the others where none is given.
    """
    _deliver[:], _deliver_batches[:], _deliver_beside[:] = [deliver], [batches], [beside or deliver]


def kind_of(label: str) -> Kind:
    """What is known of the jobs of a model."""
    return _KINDS[label]


def labels() -> list[str]:
    """Of every model of jobs."""
    return list(_KINDS)


def newest_asked(label: str) -> UUID | None:
    """The job of a kind that was asked for last and that nobody has begun yet.

    The last comes first: somebody waits for it at a page, while of many that were asked for together nobody does.
    """
    rows = _KINDS[label].rows.asked().free(now()).order_by("-wanted_since")
    found: UUID | None = rows.values_list("pk", flat=True).first()
    return found


def nudge(job: Job) -> None:
    """Have a job done soon: after the commit, in this process or by a worker. Lost, it is found by the sweep."""
    label, pk = job._meta.label, str(job.pk)
    ways = _deliver_beside if job.IS_LONG else _deliver
    transaction.on_commit(lambda: ways[0](label, pk), robust=True)


def nudge_wanted(rows: JobQuerySet[Any]) -> None:
    """Have those of the rows done soon whose work is to be done."""
    transaction.on_commit(lambda: _deliver_wanted(rows), robust=True)


def requeue(rows: JobQuerySet[Any]) -> int:
    """Have work done anew: whoever is at it loses the claim, since what they read is out of date."""
    return rows.update(
        state=JobState.WAITING,
        claim_number=F("claim_number") + 1,
        lease_until=None,
        attempts=0,
        wanted_since=now(),
    )


def run(label: str, pk: UUID | str) -> Outcome:
    """Do one job, if it is to be done and nobody is at it. A second delivery does nothing.

    Passes on whatever the work raises but did not foresee, once the job is given back.
    """
    kind = _KINDS[label]
    # What somebody asked for is told by the row alone; the whole condition joins much more.
    rows = kind.rows.filter(pk=pk).order_by("pk")
    job = rows.asked().first() or rows.wanted().first()
    if job is None:
        return Outcome.FRESH if kind.model._base_manager.filter(pk=pk).exists() else Outcome.GONE
    claim = take(job)
    if claim is None:
        return Outcome.HELD
    with heartbeat([claim]):
        return work_on(kind, job, claim)


def take(job: Job) -> Claim | None:
    """Claim a job as it was read; None where somebody holds it or held it since.

    One conditional update decides the winner. That nobody claimed it since it was read is part of the condition, so
    a late delivery does not repeat what was done between its look and its claim.
    """
    at = now()
    number, attempt = job.claim_number + 1, job.attempts + 1
    rows = type(job).objects.free(at).filter(pk=job.pk, claim_number=job.claim_number)  # type: ignore[attr-defined]
    won = rows.update(
        state=JobState.RUNNING,
        claim_number=number,
        attempts=attempt,
        lease_until=at + job.LEASE,
        started_at=at,
        worker=this_process(),
        progress_done=0,
        progress_total=0,
        progress_word="",
    )
    if not won:
        return None
    job.started_at = at
    return Claim(job, number, attempt)


def sweep() -> int:
    """Give up what died too often, then deliver whatever is to be done and nobody is at; returns how many."""
    count = 0
    for kind in list(_KINDS.values()):
        kind.before_sweep()
        dead = kind.rows.dead(now())
        dead.update(state=JobState.FAILED, error=kind.model.GIVEN_UP, finished_at=now())
        count += _deliver_wanted(kind.rows)
    return count


def _deliver_wanted(rows: JobQuerySet[Any]) -> int:
    label, wanted = rows.model._meta.label, rows.wanted().free(now())
    if label in _KINDS and _KINDS[label].gather is not None:
        count: int = wanted.count()
        if count:
            _deliver_batches[0](label)
        return count
    ids = list(wanted.order_by("created_at").values_list("pk", flat=True))
    for pk in ids:
        _deliver[0](label, str(pk))
    return len(ids)


def work_on(
    kind: Kind, job: Job, claim: Claim, known: Mapping[UUID, Any] | None = None, *, begin: bool = False
) -> Outcome:
    """Do the work of a claimed job and end it. known: what was gathered of it and of others, if it was.

    begin: where it was claimed with others, and is begun only now.
    """
    try:
        if begin:
            claim.begin()
        _do(kind, job, claim, known)
        if claim.outcome is None:
            claim.finish()
    except ClaimLostError:
        return Outcome.LOST
    except UnusableRecordError as error:
        return _refused(claim, str(error))
    except Exception as error:
        claim.give_back(no_room=is_full(error))
        raise
    except BaseException:
        claim.put_back()
        raise
    assert claim.outcome is not None  # the work or the lines above ended it
    return claim.outcome


def _do(kind: Kind, job: Job, claim: Claim, known: Mapping[UUID, Any] | None) -> None:
    if kind.gather is None:
        kind.work(job, claim)
    else:
        kind.work(job, claim, (kind.gather([job]) if known is None else known)[job.pk])


def _refused(claim: Claim, said: str) -> Outcome:
    try:
        claim.fail(said)
    except ClaimLostError:
        return Outcome.LOST
    return Outcome.FAILED


@contextmanager
def heartbeat(claims: Sequence[Claim]) -> Iterator[None]:
    """Keep the leases up from a thread of its own, since numbers are crunched without a pause to do it in.

    Not within a transaction: nobody else sees the claim there, and the thread would wait for the rows it wrote.
    """
    if connection.in_atomic_block:
        yield
        return
    ended = threading.Event()
    thread = threading.Thread(target=_beat, args=(list(claims), ended), name="heartbeat", daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def _beat(claims: list[Claim], ended: threading.Event) -> None:
    every: timedelta = claims[0].job.LEASE / BEATS_A_LEASE
    try:
        while claims and not ended.wait(every.total_seconds()):
            claims = [claim for claim in claims if claim.outcome is None and _beats(claim)]
    finally:
        connection.close()


def _beats(claim: Claim) -> bool:
    try:
        return claim.beat()
    except DatabaseError as error:  # the next beat may get through before the lease ends
        job = claim.job  # its words may name people
        log.warning("The lease of %s %s could not be moved on: %s", job._meta.label, job.pk, error)
        return True
