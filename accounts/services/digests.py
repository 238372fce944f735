"""The daily mail: asked for by the clock for whoever has something new, made in batches, each sent once.

A mail is asked for by one row a person, firm and day, which whoever asks at the same moment finds there. It is handed
to the mail server once; where nobody can tell whether that took it, it is not sent again.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Min, OuterRef, Q, Subquery
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext_noop

from accounts.calc.daily import last_due
from accounts.calc.notices import KEPT_DAYS, MAILED_DAYS, USUAL_HOUR, VISITS_KEPT_DAYS, NoticeKind
from accounts.models import DigestMail, Notice, NoticeSettings
from accounts.presentation.daily_mail import MOST_LINES, letter_of
from core.calc.jobs import JobState
from core.calc.secrets import hash_of, new_secret
from core.services import jobs, mail, mail_jobs
from core.services.addresses import full_address

AT_ONCE = 500
NOT_SET_UP = gettext_noop("This server has no outgoing mail. What it would have told stands in the app.")
REFUSED = gettext_noop("The mail server did not take it: {why}. It is sent again.")
GIVEN_UP = gettext_noop("The mail server did not take it in a day: {why}. What it tells stands in the app.")
UNKNOWN = gettext_noop(
    "The mail server was given it, and its answer was lost. It is not sent again, so that nobody gets it twice; what "
    "it tells stands in the app."
)
TOLD = mail_jobs.Told(REFUSED, GIVEN_UP, UNKNOWN)

Due = tuple[UUID, date, datetime]  # the firm, the day of its office, and the instant of the mail


def ask_for_digests(at: datetime) -> int:
    """Ask for the daily mail of everybody whose hour has come and who has something new; returns how many.

    Begun twice, it asks for no more. Where this server has no outgoing mail it asks for none. What was to come by mail
    alone and cannot is shown in the app.
    """
    Notice.objects.never_mailed().update(in_app=True)
    if not mail.is_set_up():
        Notice.objects.to_mail().filter(in_app=False).update(in_app=True)
        return 0
    due = _due(at)
    for (organisation, on, since), people in due.items():
        for start in range(0, len(people), AT_ONCE):
            _ask(organisation, on, since, people[start : start + AT_ONCE])
    jobs.nudge_wanted(DigestMail.objects.all())
    return sum(map(len, due.values()))


def _due(at: datetime) -> dict[Due, list[int]]:
    """Whose mail is due, by firm and hour: two queries, however many people there are."""
    rows = Notice.objects.to_mail().filter(created_at__gte=at - timedelta(days=MAILED_DAYS)).order_by()
    several = rows.values("user", "organisation", "organisation__time_zone").annotate(first=Min("created_at"))
    settings = NoticeSettings.objects.filter(organisation__in=rows.values("organisation"))
    hours = {
        (user, firm): hour for user, firm, hour in settings.values_list("user", "organisation", "mail_hour")
    }
    found: defaultdict[Due, list[int]] = defaultdict(list)
    for row in several:
        user, firm = row["user"], row["organisation"]
        zone = ZoneInfo(row["organisation__time_zone"])
        on, since = last_due(at, hours.get((user, firm), USUAL_HOUR), zone)
        if row["first"] <= since:
            found[firm, on, since].append(user)
    return found


@transaction.atomic
def _ask(organisation: UUID, on: date, since: datetime, people: Sequence[int]) -> None:
    """Make the mails of some people of a firm, and put into each what waited when it was due."""
    mails = [DigestMail(user_id=user, organisation_id=organisation, on=on, due_at=since) for user in people]
    DigestMail.objects.bulk_create(mails, ignore_conflicts=True)
    mine = DigestMail.objects.filter(
        user=OuterRef("user"), organisation=organisation, on=on, state=JobState.WAITING
    )
    first = since - timedelta(days=MAILED_DAYS)
    waiting = Notice.objects.to_mail().filter(organisation=organisation, user__in=people)
    waiting.filter(created_at__range=(first, since)).update(digest=Subquery(mine.values("pk")[:1]))


@dataclass(frozen=True, slots=True)
class Gathered:
    """What a mail is to tell, and whether its person wants it still."""

    notices: tuple[Notice, ...]
    is_wanted: bool


def gather(digests: Sequence[DigestMail]) -> Mapping[UUID, Gathered]:
    """What some mails tell, in two queries: what was not read meanwhile, and may still be read."""
    by_digest: defaultdict[UUID | None, list[Notice]] = defaultdict(list)
    rows = Notice.objects.still_told().unread().filter(digest__in=digests, by_mail=True)
    for notice in rows.order_by("created_at", "pk"):
        by_digest[notice.digest_id].append(notice)
    silent = set(_silent(digests))
    return {
        one.pk: Gathered(tuple(by_digest[one.pk]), (one.user_id, one.organisation_id) not in silent)
        for one in digests
    }


def _silent(digests: Collection[DigestMail]) -> Iterator[tuple[int, UUID]]:
    settings = NoticeSettings.objects.filter(mail_on=False, user__in={one.user_id for one in digests})
    yield from settings.values_list("user", "organisation")


@jobs.works_on(DigestMail, gather=gather, shared_by="organisation")
def send_digest(digest: DigestMail, claim: jobs.Claim, found: Gathered) -> None:
    """Send one daily mail, unless everything was read meanwhile or its person wants none."""
    if digest.handed_at is not None:  # whoever had it died before noting what became of it
        claim.fail(UNKNOWN)
    elif not found.notices or not found.is_wanted or not digest.user.is_active:
        claim.finish()
    elif not mail.is_set_up():
        claim.fail(NOT_SET_UP)
    else:
        mail_jobs.deliver(digest, claim, lambda: _message(digest, found.notices), TOLD)


def _message(digest: DigestMail, notices: Sequence[Notice]) -> EmailMessage:
    """The mail, with a fresh secret that ends such mails; only its hash is kept. What it counts is shown in the app."""
    secret = new_secret()
    DigestMail.objects.filter(pk=digest.pk).update(stop_hash=hash_of(secret))
    Notice.objects.filter(pk__in=[one.pk for one in notices[MOST_LINES:]]).update(in_app=True)
    stop_path = reverse("accounts:notice-stop", args=[secret])
    with translation.override(digest.organisation.language_of(digest.user)):
        letter = letter_of(digest, notices, full_address, stop_path)
    return EmailMessage(letter.subject, letter.text, None, [digest.user.email], headers=letter.headers)


def clear_old(at: datetime) -> int:
    """Take away notices and daily mails that are older than anybody looks back; returns how many notices.

    What was told of visits stays longer: whether a later change is news goes by it.
    """
    oldest = at - timedelta(days=KEPT_DAYS)
    told_of_visit = Q(kind=NoticeKind.VISIT, created_at__gte=at - timedelta(days=VISITS_KEPT_DAYS))
    count, _ = Notice.objects.filter(~told_of_visit, created_at__lt=oldest).delete()
    DigestMail.objects.filter(created_at__lt=oldest).exclude(
        state__in=(JobState.WAITING, JobState.RUNNING)
    ).delete()
    return count
