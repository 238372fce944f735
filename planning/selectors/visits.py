"""The tasks of a visit with what their page shows of each."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, When

from maintenance.models import CleaningEvent
from planning.models import Visit, VisitTask
from qa.calc.rounds import Purpose
from qa.models import TestRound


class SeenTask(NamedTuple):
    """A task. wants_test: it cleaned, and no test after it is planned or recorded; is_left_over: see the queryset."""

    task: VisitTask
    wants_test: bool
    is_left_over: bool


def today_first(visits: QuerySet[Visit], today: date) -> QuerySet[Visit]:
    """Those of today, then what comes, the next first, then what was, the latest first."""
    coming = Case(When(visit_on__gte=today, then=F("visit_on")))
    return visits.order_by(coming.asc(nulls_last=True), "-visit_on", "crew__name", "pk")


def tasks_of(visit: Visit) -> Sequence[SeenTask]:
    """Tasks with their records. Three queries."""
    cleaned_on = OuterRef("cleaning__cleaned_on")
    since = Q(tested_on__gt=cleaned_on) | Q(tested_on=cleaned_on, purpose=Purpose.AFTER_CLEANING)
    rounds = TestRound.objects.active().filter(since, surface=OuterRef("surface"))
    planned = VisitTask.objects.tests_after().filter(follows=OuterRef("pk"))
    tasks = visit.tasks.select_related(
        "visit",
        "surface__site",
        "round",
        "cleaning",
        "recommendation",
        "inspection",
        "source_change",
        "inspection_finding",
    )
    cleaned = Q(cleaning__in=CleaningEvent.objects.active(), surface__removed_on=None)
    untested: Any = cleaned & ~Exists(rounds) & ~Exists(planned)
    wanting = set(visit.tasks.filter(untested).values_list("pk", flat=True))
    left = set(visit.tasks.left_over().values_list("pk", flat=True))
    return [SeenTask(row, row.pk in wanting, row.pk in left) for row in tasks]
