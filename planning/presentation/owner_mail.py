"""Days of visits in a mail to somebody of an owner, and what the office reads of it on the visit's page."""

from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.urls import reverse

from accounts.models import OwnerPerson
from core.calc.format import counted
from core.calc.format import day as day_words
from core.services.addresses import full_address
from planning.calc.owner_news import Kind, News
from planning.models import Visit
from planning.selectors.owner_notices import Reader
from qa.selectors.days import firm_zone

SUBJECTS = {
    Kind.SET: "Visit on {day}",
    Kind.MOVED: "Visit moved to {day}",
    Kind.CANCELLED: "Visit on {day} cancelled",
}
NO_MAIL = "not told: this server has no outgoing mail. Tell them yourself."


def subject_of(news: Sequence[News], firm: str) -> str:
    """What the mail is about."""
    if len(news) > 1:
        return f"{counted(len(news), 'change')} of visits by {firm}"
    (one,) = news
    return f"{SUBJECTS[one.kind].format(day=_day(one.on))} by {firm}"


def mail_text(news: Sequence[News], reader: OwnerPerson) -> str:
    """The whole mail: each change with its day, site and work, and how to read on or to have it stopped."""
    owner, calendar = reader.owner, full_address(reverse("planning:calendar-show"))
    parts = [_part(one, calendar) for one in news]
    return (
        f"{owner.organisation} tells you the days of visits to the sites of {owner}.\n\n"
        + "\n\n".join(parts)
        + f"\n\nThe calendar of your sites has all days:\n{calendar}\n"
        f"To get no such mails, untick them in your details:\n{full_address(reverse('accounts:me'))}\n"
    )


def _part(one: News, calendar: str) -> str:
    lines = [f"{_heading(one)}: {one.site}" if one.site else _heading(one)]
    lines += [f"  - {work}" for work in one.work]
    if one.kind is not Kind.CANCELLED:
        lines.append(f"  {calendar}?view=day&on={one.on.isoformat()}")
    return "\n".join(lines)


def _heading(one: News) -> str:
    if one.kind is Kind.MOVED and one.was_on is not None:
        return f"Moved from {_day(one.was_on)} to {_day(one.on)}"
    return f"{one.kind.label}, {_day(one.on)}"


def _day(day: object) -> str:
    return f"{day:%A} {day_words(day)}".replace("\u00a0", " ")  # type: ignore[arg-type]


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
        return ToldLine(str(reader.owner), "", "not told: nobody reads for this owner yet", True)
    stands, is_open = _stands(visit, reader, mail_is_set_up, zone)
    return ToldLine(str(reader.owner), str(reader.person.user), stands, is_open)


def _stands(visit: Visit, reader: Reader, mail_is_set_up: bool, zone: ZoneInfo) -> tuple[str, bool]:
    """How it stands, and whether somebody has to do something about it."""
    day = None if visit.is_cancelled else visit.visit_on
    if reader.told and reader.told.told_on == day:
        return f"told by mail on {day_words(reader.told.told_at.astimezone(zone).date())}", False
    if reader.told is None and day is None:
        return "was never told of it, so there is nothing to take back", False
    if reader.person is not None and not reader.person.user.day_mails:
        return "not told: wants no mails about days", True
    if not mail_is_set_up:
        return NO_MAIL, True
    if reader.notice and reader.notice.error:
        return f"not told. {reader.notice.error}", True
    return "mail goes out within the hour", False
