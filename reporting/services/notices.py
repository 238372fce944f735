"""Telling people of reports that are due, of questions and answers, and of links that end soon."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from accounts.calc.notices import NoticeKind
from accounts.models import Organisation
from accounts.services.telling import News, tell_firm, tell_owner
from core.calc.format import day, first_named, month
from reporting.models import DueReport, SharedLink, ThreadMessage
from reporting.selectors.messages import office_of, owners_readers

ENDS_WITHIN = timedelta(days=7)
MOST_NAMED = 3


def tell_due(*, due: DueReport) -> None:
    """Tell who may approve it. In the transaction that proposes it."""
    site = due.site

    def text() -> str:
        said = _("The report of {site} for {month} is due and waits for your approval.")
        return said.format(site=site.name, month=month(due.month))

    tell_firm(news=News(NoticeKind.REPORT, site.organisation, due, text, due.get_absolute_url()))


def tell_message(*, message: ThreadMessage) -> None:
    """Tell the other side of a message, but nothing of what it says: it may be withdrawn."""
    surface, owner, by = message.surface, message.owner, message.recorded_by_id
    place = f"{surface.name}, {surface.site.name}"
    firm = surface.site.organisation

    def text() -> str:
        said = _("{person} asks for {owner} about {place}.")
        if not message.from_owner:
            said = _("{firm} wrote to you about {place}.")
        return said.format(person=message.recorded_by, owner=owner, firm=firm, place=place)

    if message.from_owner:
        news = News(NoticeKind.QUESTION, firm, message, text, message.get_absolute_url())
        tell_firm(news=news, to=[person.pk for person in office_of(message)], by=by)
    else:
        news = News(NoticeKind.REPLY, firm, message, text, message.get_absolute_url())
        tell_owner(news=news, owner=owner, to=[person.pk for person in owners_readers(message)], by=by)


def tell_ending_links(at: datetime) -> int:
    """Tell of links that end within a week, a notice for each firm and day; returns how many links.

    Begun twice, it tells no more. A link that a report was mailed with is not meant: its reader has the report.
    """
    rows = SharedLink.objects.filter(
        revoked_at=None, address_made_at__isnull=False, sending=None, expires_at__range=(at, at + ENDS_WITHIN)
    )
    by_day: defaultdict[tuple[Organisation, date], list[SharedLink]] = defaultdict(list)
    for link in rows.select_related("organisation").order_by("made_at"):
        by_day[link.organisation, link.ends_on].append(link)
    for (firm, ends_on), links in by_day.items():
        _tell_ending(firm, ends_on, links)
    return sum(map(len, by_day.values()))


def _tell_ending(firm: Organisation, ends_on: date, links: Iterable[SharedLink]) -> None:
    names = [link.for_whom for link in links]

    def text() -> str:
        said = ngettext(
            "{count} link ends on {day}: for {names}.", "{count} links end on {day}: for {names}.", len(names)
        )
        return said.format(count=len(names), day=day(ends_on), names=first_named(names, MOST_NAMED))

    news = News(NoticeKind.LINK, firm, firm, text, reverse("reporting:link-list"), ends_on.isoformat())
    tell_firm(news=news)
