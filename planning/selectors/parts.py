"""Work that stands on several visits: on how many, and which share of its surface each of them is to do."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta
from typing import NamedTuple
from uuid import UUID

from django.db.models import Q

from maintenance.calc.vocabulary import Action
from planning.calc.vocabulary import TaskOutcome, VisitStatus
from planning.models import VisitTask
from planning.models.visits import STANDING

NEAR = timedelta(days=14)  # tests on one side of a cleaning that are no further apart are one; our judgement

_Key = tuple[object, ...]


class Part(NamedTuple):
    """One visit's part of a piece of work. visits: on how many that is; is_last: none is ahead after it."""

    visits: int
    is_last: bool


class _Row(NamedTuple):
    pk: UUID
    recommendation: UUID | None
    follows: UUID | None
    surface: UUID
    action: str
    moment: str
    on: date
    is_ahead: bool


def parts_of(tasks: Collection[VisitTask]) -> Mapping[UUID, int]:
    """By task, on how many visits its work stands: 1 for most. One query at most.

    All tasks of one piece of advice count, and all that take up the same rest, whatever their day and however they
    ended; tests beside a cleaning that nobody advised count with those near them, and so do top-ups. Of rests and of
    these what was called off does not, since it is planned anew.
    """
    return {pk: part.visits for pk, part in part_by_task(tasks).items()}


def part_by_task(tasks: Collection[VisitTask]) -> dict[UUID, Part]:
    """The same, with whether a part is the last one that is still ahead."""
    found = {task.pk: Part(1, is_last=True) for task in tasks}
    for group in _groups(tasks):
        ahead = [row.pk for row in group if row.is_ahead]
        found |= {
            row.pk: Part(len(group), not ahead or ahead[-1] == row.pk) for row in group if row.pk in found
        }
    return found


def shares_of(tasks: Collection[VisitTask]) -> dict[UUID, float]:
    """By task, the share of its surface that it is to do: of what the task before it left, its visit's part."""
    parts, before = parts_of(tasks), _taken_up(tasks)
    left = left_by_task(before) if before else {}
    of: dict[tuple[UUID | None, str], float] = {(row.pk, row.action): left[row.pk] for row in before}
    return {task.pk: of.get((task.follows_id, task.action), 1.0) / parts[task.pk] for task in tasks}


def left_by_task(tasks: Collection[VisitTask]) -> dict[UUID, float]:
    """By ended task, the share of its surface that it left of what it was to do. One query at most for each time over
    that a rest left a rest.
    """
    planned = shares_of(tasks)
    return {task.pk: _left(task, planned[task.pk]) for task in tasks}


def _left(task: VisitTask, planned: float) -> float:
    """Where the crew told of more than was its part, it told of a share of that."""
    if task.outcome != TaskOutcome.PART or task.cleaning is None or task.cleaning.share_of_area >= 1.0:
        return planned
    done = task.cleaning.share_of_area
    return planned - done if done < planned else planned * (1.0 - done)


def _taken_up(tasks: Collection[VisitTask]) -> list[VisitTask]:
    """The tasks whose rest these do."""
    wanted = {task.follows_id for task in tasks if task.follows_id}
    return list(VisitTask.objects.filter(pk__in=wanted).select_related("cleaning")) if wanted else []


def _groups(tasks: Collection[VisitTask]) -> Iterator[list[_Row]]:
    """Of the work of these tasks what may stand on several visits, each in the order of its days."""
    wanted = {key for task in tasks if (key := _key(task.recommendation_id, task.follows_id, task))}
    if not wanted:
        return
    same: dict[_Key, list[_Row]] = defaultdict(list)
    for row in _rows(wanted):
        key = _key(row.recommendation, row.follows, row)
        if key in wanted:
            same[key].append(row)
    for key, rows in same.items():
        yield from _near(rows) if key[0] in ("test", "top_up") else [rows]


def _rows(wanted: Collection[_Key]) -> Iterator[_Row]:
    ids: dict[object, set[object]] = defaultdict(set)
    for kind, pk, *_ in wanted:
        ids[kind].add(pk)
    made = Q(surface__in=ids["test"], recommendation=None, follows=None) & ~Q(moment="")
    filled = Q(surface__in=ids["top_up"], action=Action.TOP_UP, follows=None)
    again = STANDING & (
        Q(follows__in=ids["rest"]) | made | filled
    )  # what was called off of these is planned anew
    rows = VisitTask.objects.filter(Q(recommendation__in=ids["advice"]) | again)
    columns = ("pk", "recommendation", "follows", "surface", "action", "moment", "visit__visit_on")
    for *values, ended_at, status in rows.order_by("visit__visit_on", "created_at").values_list(
        *columns, "ended_at", "visit__status"
    ):
        yield _Row._make([*values, ended_at is None and status == VisitStatus.SCHEDULED])


def _key(advice: UUID | None, follows: UUID | None, of: VisitTask | _Row) -> _Key | None:
    if advice:
        return "advice", advice
    if follows:
        return "rest", follows, of.action
    surface = of.surface_id if isinstance(of, VisitTask) else of.surface
    if of.action == Action.TOP_UP:
        return "top_up", surface
    if of.moment and of.action == Action.TEST:
        return "test", surface, of.moment
    return None


def _near(rows: list[_Row]) -> Iterator[list[_Row]]:
    group: list[_Row] = []
    for row in rows:
        if group and row.on - group[-1].on > NEAR:
            yield group
            group = []
        group.append(row)
    yield group
