"""What an owner's people are to be told of visits, and what they were told."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.timezone import now

from accounts.models import Owner, OwnerPerson
from planning.calc.owner_news import News, Standing, news_of
from planning.calc.vocabulary import DROPPED, VisitStatus
from planning.models import OwnerNotice, ToldDay, Visit, VisitTask
from qa.selectors.days import usual_date


def readers_of(visit_id: UUID) -> QuerySet[OwnerPerson]:
    """People of the owners whose sites are on the visit, and who was told of it when they were; who may sign in."""
    owners = VisitTask.objects.filter(visit=visit_id).values("surface__site__owner")
    told = ToldDay.objects.filter(visit=visit_id).values("notice__reader")
    return OwnerPerson.objects.filter(Q(owner__in=owners) | Q(pk__in=told), user__is_active=True)


def news_for(notice: OwnerNotice) -> tuple[News, ...]:
    """What changed for a person since they were told last, at the sites of their owner alone."""
    owner = notice.reader.owner
    told = {row.visit_id: row.told_on for row in notice.told.all()}
    today = usual_date(owner.sites.values_list("time_zone", flat=True), now())
    standing = _standing(owner, today)
    return news_of(told, standing, _gone(owner, told, standing), today)


def _standing(owner: Owner, today: date) -> dict[UUID, Standing]:
    rows = VisitTask.objects.filter(
        surface__site__owner=owner, visit__status=VisitStatus.SCHEDULED, visit__visit_on__gte=today
    ).exclude(outcome__in=DROPPED)
    by_visit: dict[UUID, list[VisitTask]] = defaultdict(list)
    for row in rows.select_related("visit", "surface__site", "inspection_finding"):
        by_visit[row.visit_id].append(row)
    return {visit: _stands(tasks) for visit, tasks in by_visit.items()}


def _stands(tasks: list[VisitTask]) -> Standing:
    sites = sorted({task.surface.site.name for task in tasks})
    work = tuple(f"{task.title}, {task.surface}" for task in tasks)
    return Standing(tasks[0].visit.visit_on, ", ".join(sites), work)


def _gone(owner: Owner, told: dict[UUID, date | None], standing: dict[UUID, Standing]) -> dict[UUID, str]:
    """Of visits that were told and stand no longer: those that were cancelled, or did nothing at the owner's sites."""
    left = [visit for visit in told if visit not in standing]
    served = VisitTask.objects.filter(visit=OuterRef("pk"), surface__site__owner=owner)
    done = Q(status=VisitStatus.DONE) & Exists(served.exclude(outcome__in=DROPPED))
    rows = Visit.objects.filter(pk__in=left).exclude(done)
    sites = dict(
        VisitTask.objects.filter(visit__in=left, surface__site__owner=owner).values_list(
            "visit", "surface__site__name"
        )
    )
    return {visit.pk: sites.get(visit.pk, "") for visit in rows}


@dataclass(frozen=True, slots=True)
class Reader:
    """A person of an owner on a visit, with their mail and what they were told of the visit; None where nothing."""

    owner: Owner
    person: OwnerPerson | None
    notice: OwnerNotice | None = None
    told: ToldDay | None = None


def told_of(visit: Visit) -> tuple[Reader, ...]:
    """Everybody who is to know of a visit, by owner; an owner for whom nobody reads stands there alone."""
    owners = Owner.objects.filter(sites__surfaces__visit_tasks__visit=visit).distinct()
    people: dict[UUID, list[OwnerPerson]] = defaultdict(list)
    rows = readers_of(visit.pk).select_related("owner", "user", "notice")
    for person in rows:
        people[person.owner_id].append(person)
    told = {row.notice_id: row for row in ToldDay.objects.filter(visit=visit)}
    known = {owner.pk: owner for owner in owners} | {person.owner_id: person.owner for person in rows}
    found = []
    for owner in known.values():
        found += [_reader(owner, person, told) for person in people[owner.pk]] or [Reader(owner, None)]
    return tuple(found)


def _reader(owner: Owner, person: OwnerPerson, told: dict[UUID, ToldDay]) -> Reader:
    notice = getattr(person, "notice", None)
    return Reader(owner, person, notice, told.get(notice.pk) if notice else None)
