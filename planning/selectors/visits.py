"""The tasks of a visit with what their page shows of each."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Exists, OuterRef, Q

from planning.models import Visit, VisitTask
from qa.calc.rounds import Purpose
from qa.models import TestRound


def tasks_of(visit: Visit) -> Sequence[tuple[VisitTask, bool]]:
    """Tasks with their records and what follows them, each with whether a round came since its cleaning."""
    cleaned_on = OuterRef("cleaning__cleaned_on")
    since = Q(tested_on__gt=cleaned_on) | Q(tested_on=cleaned_on, purpose=Purpose.AFTER_CLEANING)
    rounds = TestRound.objects.active().filter(since, surface=OuterRef("surface"))
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
    rows: Any = tasks.prefetch_related("followed_by").annotate(tested_after=Exists(rounds))
    return [(row, row.tested_after) for row in rows]
