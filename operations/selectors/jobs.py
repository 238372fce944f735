"""Jobs of every kind as one list, read by as many queries however many there are."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db.models import (
    Case,
    CharField,
    Count,
    DateTimeField,
    F,
    IntegerField,
    Q,
    QuerySet,
    UUIDField,
    Value,
    When,
)
from django.db.models.functions import Cast

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.jobs import JobState
from core.models.jobs import JobQuerySet
from operations.calc.job_kinds import BY_KEY, KINDS, JobKind

OPEN = (JobState.FAILED, JobState.RUNNING, JobState.WAITING)
ORDER = (*OPEN, JobState.DONE)


@dataclass(frozen=True, slots=True)
class JobRow:
    """One job. link: the id that its page takes. due_at: not done before. tries: begun without an end, or refused."""

    kind_key: str
    pk: UUID
    state: str
    about: str
    link: UUID | None
    wanted_since: datetime
    started_at: datetime | None
    finished_at: datetime | None
    lease_until: datetime | None
    due_at: datetime | None
    tries: int
    progress_done: int
    progress_total: int
    progress_word: str
    worker: str
    error: str
    may_again: int
    order: int

    @property
    def kind(self) -> JobKind:
        """What is known of its kind."""
        return BY_KEY[self.kind_key]


def rows_of(kind: JobKind) -> JobQuerySet[Any]:
    """Every row of a kind, of all firms."""
    rows: JobQuerySet[Any] = apps.get_model(kind.label).objects.all()  # type: ignore[attr-defined]
    return rows


def with_state(rows: JobQuerySet[Any], kind: JobKind) -> JobQuerySet[Any]:
    """Rows with `job_state`: where the queue is a condition, what is done and wanted anew waits."""
    if not kind.by_condition:
        return rows.annotate(job_state=F("state"))
    anew = rows.wanted().filter(state=JobState.DONE).order_by().values("pk")
    waits = When(state=JobState.DONE, pk__in=anew, then=Value(JobState.WAITING.value))
    return rows.annotate(job_state=Case(waits, default=F("state")))


def repeatable(kind: JobKind) -> Q:
    """Which failed jobs may be tried again by hand: none that would mail twice, or whose file is gone."""
    may = Q(state=JobState.FAILED)
    if kind.noted_handed:
        may &= Q(handed_at=None)
    if kind.content:
        may &= ~Q(**{kind.content: ""})
    return may


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is narrowed to. kind: a key, empty for all; states: one or more."""

    kind: str = ""
    states: Sequence[str] = OPEN


class JobList:
    """The jobs of a firm that an admin may see: counted, and read a slice at a time, as a paginator wants them."""

    def __init__(self, user: User, organisation: Organisation, asked: Asked) -> None:
        self._kinds = [
            (kind, with_state(rows_of(kind).for_user(user, Role.ADMIN).of_organisation(organisation), kind))  # type: ignore[attr-defined]
            for kind in KINDS
        ]
        self.asked = asked
        self.counts = self._counted()

    def __len__(self) -> int:
        """How many jobs are asked for."""
        return sum(self.counts[kind.key, state] for kind, _ in self._chosen() for state in self.asked.states)

    def __getitem__(self, part: slice) -> list[JobRow]:
        """Some of them: failed first, then at work, then waiting; of each the newest first."""
        several = [
            _columns(rows.filter(job_state__in=self.asked.states), kind) for kind, rows in self._chosen()
        ]
        listed = together(several).order_by("job_order", "-job_since", "job_pk")[part]
        return [JobRow(*row) for row in listed]

    def count_of(self, state: str) -> int:
        """Jobs in a state, of the kinds that are asked for."""
        return sum(self.counts[kind.key, state] for kind, _ in self._chosen())

    def _chosen(self) -> list[tuple[JobKind, Any]]:
        return [(kind, rows) for kind, rows in self._kinds if self.asked.kind in ("", kind.key)]

    def _counted(self) -> Counter[tuple[str, str]]:
        several = [
            rows.order_by()
            .annotate(job_kind=_text(kind.key))
            .values("job_kind", "job_state")
            .annotate(n=Count("pk"))
            for kind, rows in self._kinds
        ]
        found = together([rows.values_list("job_kind", "job_state", "n") for rows in several])
        return Counter({(key, state): count for key, state, count in found})


def together(several: Sequence[QuerySet[Any, Any]]) -> QuerySet[Any, Any]:
    """The rows of several kinds as one query; each gives the same columns."""
    first, *others = several
    return first.union(*others, all=True) if others else first


def _text(words: str) -> Cast:
    return Cast(Value(words), CharField())


def _columns(rows: Any, kind: JobKind) -> QuerySet[Any, tuple[Any, ...]]:
    """The columns of a JobRow in their order, which every kind gives alike."""
    order = [When(job_state=state, then=Value(number)) for number, state in enumerate(ORDER)]
    columns = {
        "job_kind": _text(kind.key),
        "job_pk": F("pk"),
        "job_state_": F("job_state"),
        "job_about": Cast(F(kind.about), CharField()) if kind.about else _text(""),
        "job_link": F(kind.of) if kind.of else Cast(Value(None), UUIDField()),
        "job_since": F("wanted_since"),
        "job_started": F("started_at"),
        "job_finished": F("finished_at"),
        "job_lease": F("lease_until"),
        "job_due": F("due_at") if kind.is_mail else Cast(Value(None), DateTimeField()),
        "job_tries": F("attempts") + F("failures") if kind.is_mail else F("attempts"),
        "job_done": F("progress_done"),
        "job_total": F("progress_total"),
        "job_word": F("progress_word"),
        "job_worker": F("worker"),
        "job_error": F("error"),
        "job_again": Case(When(repeatable(kind), then=Value(1)), default=Value(0)),
        "job_order": Case(*order, default=Value(len(ORDER)), output_field=IntegerField()),
    }
    listed: QuerySet[Any, tuple[Any, ...]] = rows.order_by().annotate(**columns).values_list(*columns)
    return listed
