"""Days of visits in a mail to somebody of an owner, and what the office reads of it on the visit's page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from accounts.models import OwnerPerson
from core.calc.format import day as day_words
from core.calc.format import weekday
from core.services.addresses import full_address
from planning.calc.owner_news import Kind, News
from planning.models import Visit
from planning.selectors.owner_notices import Reader
from qa.selectors.days import firm_zone

SUBJECTS = {
    Kind.SET: gettext_noop("Visit on {day} by {firm}"),
    Kind.MOVED: gettext_noop("Visit moved to {day} by {firm}"),
    Kind.CANCELLED: gettext_noop("Visit on {day} cancelled by {firm}"),
}
NO_MAIL = gettext_noop("not told: this server has no outgoing mail. Tell them yourself.")


def subject_of(news: Sequence[News], firm: str) -> str:
    """What the mail is about."""
    if len(news) == 1:
        return _(SUBJECTS[news[0].kind]).format(day=_day(news[0].on), firm=firm)
    said = ngettext("{count} change of visits by {firm}", "{count} changes of visits by {firm}", len(news))
    return said.format(count=len(news), firm=firm)


def mail_text(news: Sequence[News], reader: OwnerPerson) -> str:
    """The whole mail: each change with its day, site and work, and how to read on or to have it stopped."""
    owner, calendar = reader.owner, full_address(reverse("planning:calendar-show"))
    opening = _("{firm} tells you the days of visits to the sites of {owner}.")
    parts = [
        opening.format(firm=owner.organisation, owner=owner),
        *(_part(one, calendar) for one in news),
        _("The calendar of your sites has all days:") + f"\n{calendar}",
    ]
    me = full_address(reverse("accounts:me"))
    return "\n\n".join(parts) + "\n" + _("To get no such mails, untick them in your details:") + f"\n{me}\n"


def _part(one: News, calendar: str) -> str:
    heading = _heading(one)
    # Translators: a day with what became of it, and the sites it is about.
    lines = [_("{what}: {sites}").format(what=heading, sites=one.site) if one.site else heading]
    lines += [f"  - {work}" for work in one.work]
    if one.kind is not Kind.CANCELLED:
        lines.append(f"  {calendar}?view=day&on={one.on.isoformat()}")
    return "\n".join(lines)


def _heading(one: News) -> str:
    if one.kind is Kind.MOVED and one.was_on is not None:
        return _("Moved from {was} to {day}").format(was=_day(one.was_on), day=_day(one.on))
    return f"{one.kind.label}, {_day(one.on)}"


def _day(day: date) -> str:
    return f"{weekday(day)} {day_words(day)}".replace("\u00a0", " ")


@dataclass(frozen=True, slots=True)
class ToldLine:
    """One line of who was told: whose sites, who, and how it stands."""

    owner: str
    person: str
    stands: str
    is_open: bool


def told_lines(visit: Visit, readers: Sequence[Reader], mail_is_set_up: bool) -> tuple[ToldLine, ...]:
    """Who knows of a visit's day. mail_is_set_up: whether this server sends mail at all."""
    zone = firm_zone(visit.organisation)
    return tuple(_line(visit, reader, mail_is_set_up, zone) for reader in readers)


def _line(visit: Visit, reader: Reader, mail_is_set_up: bool, zone: ZoneInfo) -> ToldLine:
    if reader.person is None:
        return ToldLine(str(reader.owner), "", _("not told: nobody reads for this owner yet"), True)
    stands, is_open = _stands(visit, reader, mail_is_set_up, zone)
    return ToldLine(str(reader.owner), str(reader.person.user), stands, is_open)


def _stands(visit: Visit, reader: Reader, mail_is_set_up: bool, zone: ZoneInfo) -> tuple[str, bool]:
    """How it stands, and whether somebody has to do something about it."""
    day = None if visit.is_cancelled else visit.visit_on
    if reader.told and reader.told.told_on == day:
        told_on = reader.told.told_at.astimezone(zone).date()
        return _("told by mail on {day}").format(day=day_words(told_on)), False
    if reader.told is None and day is None:
        return _("was never told of it, so there is nothing to take back"), False
    if reader.person is not None and not reader.person.user.day_mails:
        return _("not told: wants no mails about days"), True
    if not mail_is_set_up:
        return _(NO_MAIL), True
    if reader.notice and reader.notice.error:
        return _("not told. {why}").format(why=reader.notice.error), True
    return _("mail goes out within the hour"), False
