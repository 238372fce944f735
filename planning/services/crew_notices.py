"""Telling the people of a crew when a day of theirs is set, moved, cancelled or given to another crew."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import timedelta
from uuid import UUID

from django.utils.timezone import now
from django.utils.translation import override

from accounts.calc.notices import NoticeKind
from accounts.models import Notice
from accounts.services.acting import acting_person
from accounts.services.telling import News, in_one_line, last_occasions, note_known, tell_firm
from core.calc.format import first_named
from planning.calc.crew_news import day_of, mark_of, news_in_words
from planning.calc.vocabulary import DROPPED, VisitStatus
from planning.models import Visit
from planning.services.languages import languages_of

MOST_SITES = 5


def tell_crew(*, visit_id: UUID) -> None:
    """Tell who goes out on a visit, and who was told to, what of it is new to them; never whoever changed it.

    In the transaction of the change. A site that comes to a day nobody has opened yet changes the sentence about it.
    """
    visit = Visit.objects.select_related("crew", "organisation").filter(pk=visit_id).first()
    over = (now() - timedelta(hours=12)).date()  # everywhere on Earth
    if visit is None or visit.status == VisitStatus.DONE or visit.visit_on < over:
        return
    told, sites = last_occasions(kind=NoticeKind.VISIT, about_id=visit.pk), _sites_of(visit)
    crew = set(visit.crew.people.values_list("pk", flat=True)) if visit.is_scheduled and sites else set()
    reads = languages_of(crew | told.keys(), visit.organisation)
    alike: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    for person in sorted(reads):
        count, mark = told.get(person, (0, ""))
        on = visit.visit_on if person in crew else None
        with override(reads[person]):
            text = news_in_words(day_of(mark), on, is_cancelled=visit.is_cancelled, sites=sites)
        if text:
            alike[mark_of(count, on), text].append(person)
    by = acting_person()
    for (mark, text), people in alike.items():
        news = News(NoticeKind.VISIT, visit.organisation, visit, text, visit.get_absolute_url(), mark)
        tell_firm(news=news, to=people, by=by)
        if by is not None and by in people:
            note_known(news=news, person=by)
    if told:
        _say_anew(visit, sites, reads)


def _sites_of(visit: Visit) -> str:
    names = visit.tasks.exclude(outcome__in=DROPPED).order_by("surface__site__name")
    several = list(dict.fromkeys(names.values_list("surface__site__name", flat=True)))
    return first_named(several, MOST_SITES)


def _say_anew(visit: Visit, sites: str, reads: Mapping[int, str]) -> None:
    """The first sentence about a day, as long as nobody read it: with the sites as they are now."""
    unread = Notice.objects.unread().filter(kind=NoticeKind.VISIT, about_id=visit.pk, digest=None)
    first = unread.filter(occasion=mark_of(0, visit.visit_on))
    for language in sorted(set(reads.values())):
        with override(language):
            text = in_one_line(news_in_words(None, visit.visit_on, is_cancelled=False, sites=sites))
        people = [person for person, reading in reads.items() if reading == language]
        first.filter(user__in=people).exclude(text=text).update(text=text)
