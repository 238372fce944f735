"""Outputs of crews: what was entered, and what the hours they told make of it."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from math import ceil
from uuid import UUID

from accounts.models import Organisation
from core.calc.audit import AuditState
from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from maintenance.calc.costs import Terms
from maintenance.calc.vocabulary import Action
from planning.calc.outputs import Job, Output, learnt_output
from planning.calc.work_orders import cleaning_min, round_min, usual_min
from planning.models import Crew, VisitTask
from planning.selectors.parts import shares_of
from qa.calc.counts import locations_needed_m2

Outputs = Mapping[tuple[UUID, CleaningMethod], Output]


def outputs_of(organisation: Organisation, terms: Mapping[CleaningMethod, Terms]) -> Outputs:
    """By crew and method, for what crews are equipped for. Two queries and one for the crews' methods.

    terms: of the methods the firm offers.
    """
    jobs = _jobs(organisation)
    found = {}
    for crew in Crew.objects.of_organisation(organisation).prefetch_related("methods"):
        own = {row.method: row.output_m2_h for row in crew.methods.all()}
        for method in CleaningMethod:
            firm = terms[method].output_m2_h if method in terms else None
            entered = own.get(method.value) or firm
            if entered and (not own or method.value in own):
                found[crew.pk, method] = learnt_output(entered, jobs[crew.pk, method])
    return found


def _jobs(organisation: Organisation) -> dict[tuple[UUID, CleaningMethod], list[Job]]:
    """Cleanings whose hours were told, the newest first."""
    tasks = VisitTask.objects.of_organisation(organisation).filter(
        cleaning__state=AuditState.ACTIVE, taken_min__gt=0
    )
    rows = tasks.order_by("-visit__visit_on", "-ended_at").values_list(
        "visit__crew", "cleaning__method", "surface__area_m2", "cleaning__share_of_area", "taken_min"
    )
    found: dict[tuple[UUID, CleaningMethod], list[Job]] = defaultdict(list)
    for crew, method, area_m2, share, taken_min in rows:
        if taken_min:
            found[crew, CleaningMethod(method)].append(Job(area_m2 * share, taken_min))
    return found


def planned_min(task: VisitTask, outputs: Outputs, share: float | None = None) -> int | None:
    """Minutes that a plan counts for a task; None for a cleaning of which nothing says how fast it is.

    share: of its surface that it is to do, worked out where it is not given; for many tasks see `minutes_of`
    """
    action, area_m2 = Action(task.action), task.surface.area_m2
    share = shares_of([task])[task.pk] if share is None else share
    if task.method:
        output = outputs.get((task.visit.crew_id, CleaningMethod(task.method)))
        return cleaning_min(area_m2 * share, output.m2_h) if output else None
    if action is Action.TEST:
        return round_share_min(area_m2, share)
    return usual_min(action, area_m2 * share)


def minutes_of(tasks: Collection[VisitTask], outputs: Outputs) -> dict[UUID, int | None]:
    """The same by task, each with its part of work that stands on several visits; in few queries for any number."""
    shares = shares_of(tasks)
    return {task.pk: planned_min(task, outputs, shares[task.pk]) for task in tasks}


def round_share_min(area_m2: float, share: float) -> int:
    """Minutes of a round, or of one day of it, at its share of the spots that an area asks for."""
    return round_min(ceil(share * locations_needed_m2(area_m2, UnitSystem.SI)))
