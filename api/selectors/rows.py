"""The rows that a token reads, of each kind: those of its person, in its firm or of its owner alone.

An owner's people read of everything what their own pages show: `accounts.calc.audience` says what, and the querysets
of advice and documents hold what was released and kept for them. Each list joins what its rows show, so that the number
of queries stays the same however many there are.
"""

from functools import reduce
from operator import or_
from typing import Any, TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import F, Model, Prefetch, Q, QuerySet
from django.utils.timezone import localdate

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models import Owner
from api.selectors.tokens import Caller
from core.calc.audit import AuditState
from maintenance.models import AdviceRelease, CleaningEvent, Forecast, Recommendation
from planning.calc.vocabulary import DROPPED, VisitStatus
from planning.models import Visit, VisitTask
from qa.models import InfiltrationTest, Inspection, Location, Site, Surface, TestRound
from qa.selectors.inspections import with_findings
from reporting.models import Snapshot

M = TypeVar("M", bound=Model)


def rows_for(caller: Caller, model: type[M]) -> QuerySet[M]:
    """Rows of a model within what the token is for."""
    rows = model.objects  # type: ignore[attr-defined]
    if caller.owner is None:
        mine: QuerySet[M] = rows.for_user(caller.person, Role.VIEWER).of_organisation(caller.organisation)
        return mine
    found = rows.for_user(caller.person)
    narrowed: QuerySet[M] = (
        found.filter(**{found.owner_path: caller.owner.pk}) if found.owner_path else found.none()
    )
    return narrowed


def owners(caller: Caller) -> QuerySet[Owner]:
    """Owners of sites."""
    return rows_for(caller, Owner)


def sites(caller: Caller) -> QuerySet[Site]:
    """Sites with their owners."""
    return rows_for(caller, Site).select_related("owner")


def surfaces(caller: Caller) -> QuerySet[Surface]:
    """Surfaces with their sites and test locations."""
    places = Prefetch("locations", Location.objects.order_by("label", "pk"))
    return rows_for(caller, Surface).select_related("site").prefetch_related(places)


def rounds(caller: Caller) -> QuerySet[TestRound]:
    """Test rounds."""
    return rows_for(caller, TestRound).select_related("surface__site", "recorded_by")


def tests(caller: Caller) -> QuerySet[InfiltrationTest]:
    """Tests with their rounds and locations."""
    joined = ("round__surface__site", "location", "recorded_by")
    return rows_for(caller, InfiltrationTest).select_related(*joined)


def cleanings(caller: Caller) -> QuerySet[CleaningEvent]:
    """Cleanings."""
    return rows_for(caller, CleaningEvent).select_related("surface__site", "recorded_by")


def inspections(caller: Caller) -> QuerySet[Inspection]:
    """Inspections with what they found and what was done about it."""
    return with_findings(rows_for(caller, Inspection)).select_related("surface__site", "recorded_by")  # type: ignore[arg-type]


def visits(caller: Caller, **at: UUID | None) -> QuerySet[Visit]:
    """Visits with their tasks; an owner's people see those still ahead at their sites, with their own tasks alone.

    at: the site or surface, by name, to which a visit must go; of an owner's people to a task of theirs.
    """
    mine = _tasks_for(caller)
    there = mine.filter(**{_TASK_AT[name]: key for name, key in at.items() if key is not None})
    going = Visit.objects.filter(pk__in=there.values("visit")) if any(at.values()) else None
    shown = mine.select_related("surface__site", "inspection_finding")
    shown = shown.order_by(F("begins_min").asc(nulls_last=True), "surface__site__name", "surface__name", "pk")
    found = _visits_for(caller, mine).prefetch_related(Prefetch("tasks", shown, "shown_tasks"))
    return found if going is None else found.filter(pk__in=going.values("pk"))


_TASK_AT = {"site": "surface__site", "surface": "surface"}


def _tasks_for(caller: Caller) -> QuerySet[VisitTask]:
    tasks = rows_for(caller, VisitTask)
    if caller.owner is None:
        return tasks
    return tasks.filter(_from_today(caller.owner), ended_at=None).exclude(outcome__in=DROPPED)


def _from_today(owner: Owner) -> Q:
    """Tasks on visits of today or later, by the clock of the site of each, as the owner's pages show them."""
    zones = set(owner.sites.values_list("time_zone", flat=True))
    ahead = (
        Q(surface__site__time_zone=zone, visit__visit_on__gte=localdate(timezone=ZoneInfo(zone)))
        for zone in zones
    )
    return reduce(or_, ahead, Q(pk__in=()))


def _visits_for(caller: Caller, tasks: QuerySet[VisitTask]) -> QuerySet[Visit]:
    if caller.owner is None:
        return rows_for(caller, Visit).select_related("crew")
    return Visit.objects.filter(pk__in=tasks.values("visit"), status=VisitStatus.SCHEDULED)


def forecasts(caller: Caller) -> QuerySet[Forecast]:
    """Forecasts without their curves."""
    return rows_for(caller, Forecast).select_related("surface__site").defer(*Forecast.BULKY)


def recommendations(caller: Caller) -> QuerySet[Recommendation]:
    """Advice as it stands, for people of the firm."""
    return rows_for(caller, Recommendation).select_related("surface__site")


def releases(caller: Caller) -> QuerySet[AdviceRelease]:
    """Advice as an owner was shown it: what is shown now, and nothing else."""
    rows = rows_for(caller, AdviceRelease).select_related("surface__site", "recommendation")
    return rows.filter(pk__in=AdviceRelease.objects.shown().values("pk"))


def reports(caller: Caller) -> QuerySet[Snapshot]:
    """Kept documents; an owner's people read those made for the owner and not withdrawn."""
    rows = rows_for(caller, Snapshot).select_related("site", "recorded_by")
    if caller.owner is None:
        return rows
    return rows.filter(audience=Audience.OWNER, state=AuditState.ACTIVE)


def stored(model: type[M], key: Any) -> M | None:
    """The row of an id, whosever it is: only to tell whether the id is taken."""
    return model._base_manager.filter(pk=key).first()
