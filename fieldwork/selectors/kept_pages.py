"""The pages that a phone keeps for where there is no signal: the days ahead of its person, and what they need there."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from uuid import UUID

from django.db.models import Prefetch
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.models import Organisation, User
from core.calc.paving import TestMethod
from core.calc.promised import PHONE_DAYS_AHEAD, PHONE_DAYS_BEHIND
from planning.calc.vocabulary import VisitStatus
from planning.models import Visit, VisitTask
from planning.selectors.own_days import crews_of
from qa.models import ConstructionRecord, Surface
from qa.selectors.construction import record_state
from qa.selectors.days import firm_today

AHEAD = timedelta(days=PHONE_DAYS_AHEAD)  # today and the six days after
BEHIND = timedelta(days=PHONE_DAYS_BEHIND)  # a day that is over is told late
MOST_SURFACES = 40
FORMS_OF_SURFACE = (
    "qa:round-create",
    "maintenance:cleaning-create",
    "qa:inspection-create",
    "qa:source-change-create",
    "qa:surface-file-create",
)
PHONE = "fieldwork:phone-show"


@dataclass(frozen=True, slots=True)
class KeptPage:
    """A page to keep. stamp: another one where the page would read otherwise."""

    address: str
    stamp: str


@dataclass(frozen=True, slots=True)
class Ahead:
    """What a person goes out to. surfaces: of their visits, and those asked for besides, each once."""

    today: date
    visits: Sequence[Visit]
    surfaces: Sequence[Surface]


def ahead_of(user: User, organisation: Organisation, asked: Iterable[UUID]) -> Ahead:
    """The visits of the days ahead of a person's crews, with their surfaces, in a constant number of queries.

    asked: ids of surfaces to keep besides; those that the person may not record at are left out.
    """
    today = firm_today(organisation)
    rows = Visit.objects.for_user(user, Role.VIEWER).of_organisation(organisation)
    days = (today - BEHIND, today + AHEAD)
    tasks = VisitTask.objects.select_related("surface__site", "visit", "inspection_finding", "recommendation")
    visits = list(
        rows.filter(crew__in=crews_of(user, organisation), visit_on__range=days)
        .exclude(status=VisitStatus.CANCELLED)
        .select_related("crew")
        .prefetch_related(Prefetch("tasks", tasks))
        .order_by("visit_on")
    )
    found = {task.surface_id: task.surface for visit in visits for task in visit.tasks.all()}
    mine = Surface.objects.for_user(user, Role.TECHNICIAN).filter(pk__in=list(asked)).select_related("site")
    found |= {surface.pk: surface for surface in mine}
    return Ahead(today, visits, list(found.values())[:MOST_SURFACES])


def kept_pages(ahead: Ahead, steps: Iterable[str], version: str) -> list[KeptPage]:
    """Every page to keep, each once, those of the nearest day first.

    steps: where the tasks are got done, which a page names. version: of the program and its pages.
    """
    of_days = _stamp(version, ahead.today, *((v.pk, v.revision, v.status) for v in ahead.visits))
    found: dict[str, str] = {}
    for address in (reverse("reporting:start"), reverse("reporting:day-own"), reverse(PHONE)):
        found[address] = of_days
    for visit in ahead.visits:
        found |= dict.fromkeys(_of_visit(visit), of_days)
    records = _records(ahead.surfaces)
    for surface in ahead.surfaces:
        stamp = _stamp(version, ahead.today, surface.pk, surface.record_version)
        found |= dict.fromkeys(_of_surface(surface, records.get(surface.pk)), stamp)
    found |= dict.fromkeys((step for step in steps if step not in found), of_days)
    return [KeptPage(address, stamp) for address, stamp in found.items()]


def blank_test(surface: Surface, method: str) -> str:
    """The address of a form for a test of a round that is still on the phone."""
    return f"{reverse('fieldwork:blank-test', args=[surface.pk])}?method={method}"


def _of_visit(visit: Visit) -> Iterator[str]:
    yield f"{reverse('reporting:day-own')}?crew={visit.crew_id}&on={visit.visit_on.isoformat()}"
    yield visit.get_absolute_url()
    yield reverse("planning:visit-tell", args=[visit.pk])


def _of_surface(surface: Surface, record: ConstructionRecord | None) -> Iterator[str]:
    yield surface.get_absolute_url()
    for route in FORMS_OF_SURFACE:
        yield reverse(route, args=[surface.pk])
    for method in TestMethod:
        yield blank_test(surface, method.value)
    if record is not None:
        yield reverse("qa:construction-detail", args=[surface.pk])
        for stage in record_state(record).stages:
            following = next(
                (check for check in stage.checks if not (check.settled or check.automatic)), None
            )
            if following is not None:
                yield reverse("qa:check-record", args=[following.row.pk])
                for check in (stage.checks[0], following):  # as the record, and the check before, lead there
                    yield reverse("qa:stage-record", args=[check.row.pk])


def _records(surfaces: Sequence[Surface]) -> dict[UUID, ConstructionRecord]:
    rows = ConstructionRecord.objects.filter(surface__in=[surface.pk for surface in surfaces])
    return {row.surface_id: row for row in rows}


def _stamp(*parts: object) -> str:
    return sha256(repr(parts).encode()).hexdigest()[:16]
