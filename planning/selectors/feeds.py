"""What a calendar feed shows, and to whom it belongs."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.utils.timezone import now
from django.utils.translation import gettext as _

from accounts.models import Membership, OwnerPerson, User
from core.calc.secrets import hash_of
from planning.calc.feed_events import FeedEvent, instant
from planning.calc.vocabulary import DROPPED, VisitStatus
from planning.models import CalendarFeed, Crew, Visit, VisitTask
from planning.selectors.crew_days import position_of, times_of
from qa.models import Site
from qa.selectors.days import firm_zone

BACK, AHEAD = timedelta(days=92), timedelta(days=366)


@dataclass(frozen=True, slots=True)
class FeedPlace:
    """Something of a person that can have an address. feed: the one it has."""

    whose: Membership | OwnerPerson
    feed: CalendarFeed | None

    @property
    def key(self) -> str:
        """Names it in a form."""
        return str(self.whose.pk)

    @property
    def is_owner(self) -> bool:
        """Whether it shows the days at an owner's sites."""
        return isinstance(self.whose, OwnerPerson)

    @property
    def name(self) -> str:
        """The firm, or the owner."""
        return str(self.whose.owner if isinstance(self.whose, OwnerPerson) else self.whose.organisation)


def places_of(user: User) -> list[FeedPlace]:
    """Everything for which a person can have an address of their own."""
    members = Membership.objects.filter(user=user).select_related("organisation", "feed")
    readers = OwnerPerson.objects.filter(user=user).select_related("owner__organisation", "feed")
    return [FeedPlace(row, getattr(row, "feed", None)) for row in (*members, *readers)]


def feed_of(secret: str) -> CalendarFeed | None:
    """The feed behind an address; None where it ended, or its person may not sign in any more."""
    rows = CalendarFeed.objects.select_related(
        "organisation", "crew", "member__user", "reader__user", "reader__owner"
    )
    feed = rows.filter(secret_hash=hash_of(secret)).first()
    person = feed and (feed.member or feed.reader)
    return None if person and not person.user.is_active else feed


Address = Callable[[str], str]


def events_of(feed: CalendarFeed, absolute: Address, calendar: str) -> tuple[FeedEvent, ...]:
    """The appointments of a feed, of a year ahead and a quarter back. Of a visit one at each site.

    absolute: makes an address of a path; calendar: the path of the calendar, for who has no page of a visit.
    """
    zone = firm_zone(feed.organisation)
    today = now().astimezone(zone).date()
    visits = Visit.objects.of_organisation(feed.organisation).filter(
        visit_on__range=(today - BACK, today + AHEAD)
    )
    tasks = VisitTask.objects.select_related("surface__site", "inspection_finding")
    if feed.reader:
        tasks = tasks.filter(surface__site__owner=feed.reader.owner)
        visits = visits.filter(tasks__in=tasks).distinct()
    else:
        visits = visits.filter(crew__in=_crews(feed))
    rows = visits.select_related("crew").prefetch_related(Prefetch("tasks", tasks, "shown"))
    return tuple(
        event
        for visit in rows.order_by("visit_on", "pk")
        for event in _events(feed, visit, absolute, calendar, zone.key)
    )


def _crews(feed: CalendarFeed) -> QuerySet[Crew]:
    """A crew; or those that the person goes out with, and all of the firm for who goes out with none."""
    crews = Crew.objects.of_organisation(feed.organisation)
    if feed.crew_id:
        return crews.filter(pk=feed.crew_id)
    own = crews.filter(people=feed.member.user) if feed.member else crews.none()
    return own if own.exists() else crews


def _events(
    feed: CalendarFeed, visit: Visit, absolute: Address, calendar: str, zone: str
) -> Iterable[FeedEvent]:
    by_site: dict[Site, list[VisitTask]] = defaultdict(list)
    for task in visit.shown:  # type: ignore[attr-defined]  # as prefetched above
        by_site[task.surface.site].append(task)
    url = absolute(f"{calendar}?view=day&on={visit.visit_on}" if feed.reader else visit.get_absolute_url())
    for site, tasks in by_site.items():
        yield _event(feed, visit, site, tasks, url)
    if not by_site and not feed.reader:
        yield _empty(visit, url, zone)


def _event(feed: CalendarFeed, visit: Visit, site: Site, tasks: Sequence[VisitTask], url: str) -> FeedEvent:
    begins, ends = _minutes(visit, tasks)
    who = feed.organisation if feed.reader else visit.crew
    standing = [task for task in tasks if task.outcome not in DROPPED]
    return FeedEvent(
        uid=_uid(visit.pk, site.pk),
        title=f"{site} ({who})",
        begins=instant(visit.visit_on, begins, site.time_zone),
        ends=instant(visit.visit_on, ends, site.time_zone),
        where=", ".join(filter(None, (site.name, site.address))),
        place=position_of(site),
        work=tuple(
            _("{title}: {surface}").format(title=task.title, surface=task.surface.name)
            for task in standing or tasks
        ),
        url=url,
        revision=visit.revision,
        changed_at=visit.changed_at,
        is_cancelled=visit.status == VisitStatus.CANCELLED or not standing,
    )


def _empty(visit: Visit, url: str, zone: str) -> FeedEvent:
    begins, ends = visit.crew.shift_min
    return FeedEvent(
        uid=_uid(visit.pk),
        title=_("{crew}: nothing planned yet").format(crew=visit.crew),
        begins=instant(visit.visit_on, begins, zone),
        ends=instant(visit.visit_on, ends, zone),
        where="",
        place=None,
        work=(),
        url=url,
        revision=visit.revision,
        changed_at=visit.changed_at,
        is_cancelled=visit.status == VisitStatus.CANCELLED,
    )


def _minutes(visit: Visit, tasks: Sequence[VisitTask]) -> tuple[int, int]:
    """From the first to the last time that an accepted plan gave; the crew's shift where it gave none."""
    begins, ends = times_of(tasks)
    return visit.crew.shift_min if begins is None or ends is None else (begins, ends)


def _uid(*keys: UUID) -> str:
    return f"{'-'.join(key.hex for key in keys)}@rainthrough"
