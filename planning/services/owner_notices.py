"""Telling an owner's people by mail when a day is set, moved or cancelled.

A mail waits ten minutes, so that what is put right at once is told once, and nobody gets more than one an hour for one
owner: who reads for two gets the mails of each. It says what differs from what they were told last. It is a job: what a
mail server refuses is sent again later. Where nobody can tell whether the server took it, it is not sent again by
itself: the office reads so, and the next change is told with what may not have arrived.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.mail import EmailMessage
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from core.calc.jobs import JobState
from core.errors import MailAnswerLostError, MailRefusedError
from core.services import jobs, mail, mail_jobs
from planning.calc.owner_news import Kind, News
from planning.models import OwnerNotice, ToldDay
from planning.presentation.owner_mail import mail_text, subject_of
from planning.selectors.owner_notices import news_for, readers_of
from planning.services.languages import language_of

SETTLES = timedelta(minutes=10)
AT_MOST_EVERY = timedelta(hours=1)
NOT_SET_UP = gettext_noop(
    "This server has no outgoing mail. Tell them by phone, or have RAINTHROUGH_EMAIL_URL set."
)
REFUSED = gettext_noop("The mail server did not take it: {why}. It is sent again.")
GIVEN_UP = gettext_noop(
    "The mail server did not take it in a day: {why}. Tell them by phone; the next change is tried anew."
)

UNKNOWN = gettext_noop(
    "The connection broke while the mail server took it, so it may have arrived or not. Ask them by phone; it is not "
    "sent again by itself, and the next change is told with it."
)


def tell_readers(*, visit_id: UUID) -> None:
    """Have the people of the owners on a visit told what changed, those too who were told of it before.

    Within the transaction of the change, which holds the rows until its end.
    """
    at, readers = now(), list(readers_of(visit_id))
    fresh = [OwnerNotice(reader=reader, due_at=at + SETTLES) for reader in readers]
    OwnerNotice.objects.bulk_create(
        fresh, ignore_conflicts=True
    )  # each person has one; it may be there already
    for notice in OwnerNotice.objects.select_for_update().filter(reader__in=readers):
        _ask(notice, at)


def _ask(notice: OwnerNotice, at: datetime) -> None:
    if notice.state == JobState.WAITING:  # what is new comes with it
        return
    earliest = notice.sent_at + AT_MOST_EVERY if notice.sent_at else at
    changes: dict[str, Any] = {"due_at": max(at + SETTLES, earliest)}
    if notice.state != JobState.RUNNING:  # whoever is at it sees the later time, and leaves it waiting
        changes |= {"state": JobState.WAITING, "attempts": 0, "failures": 0, "error": ""}
        changes |= {"handed_at": None}
    OwnerNotice.objects.filter(pk=notice.pk).update(**changes)


@jobs.works_on(OwnerNotice)
def send_notice(notice: OwnerNotice, claim: jobs.Claim) -> None:
    """Send a person what changed since they were told last, if anything did.

    The mail is in the language that they read; what the office reads of it in the firm's.
    """
    with override(language_of(notice.reader)):
        news = news_for(notice)
    with override(notice.reader.owner.organisation.language):
        _send_or_say_why(notice, claim, news)


def _send_or_say_why(notice: OwnerNotice, claim: jobs.Claim, news: Sequence[News]) -> None:
    reader = notice.reader.user
    if notice.handed_at is not None:  # whoever had it died before noting what became of it
        _finish(notice, claim, state=JobState.FAILED, error=_(UNKNOWN), failures=0)
    elif not news or not reader.day_mails or not reader.is_active:
        _finish(notice, claim)
    elif not mail.is_set_up():
        claim.fail(_(NOT_SET_UP))
    else:
        _send(notice, claim, news)


def _send(notice: OwnerNotice, claim: jobs.Claim, news: Sequence[News]) -> None:
    reader = notice.reader
    firm = reader.owner.organisation.name
    with override(language_of(reader)):
        letter = EmailMessage(subject_of(news, firm), mail_text(news, reader), None, [reader.user.email])
    try:
        mail.hand_over(lambda: mail_jobs.leaving(notice, claim, lambda: letter))
    except MailRefusedError as error:
        _later(notice, claim, str(error))
    except MailAnswerLostError:
        _finish(notice, claim, state=JobState.FAILED, error=_(UNKNOWN), failures=0)
    else:
        _told(notice, claim, news)


def _told(notice: OwnerNotice, claim: jobs.Claim, news: Sequence[News]) -> None:
    with transaction.atomic():
        for one in news:
            day = None if one.kind is Kind.CANCELLED else one.on
            ToldDay.objects.update_or_create(
                notice=notice, visit_id=one.visit, defaults={"told_on": day, "told_at": now()}
            )
        _finish(notice, claim, sent_at=now(), failures=0, handed_at=None)


def _finish(notice: OwnerNotice, claim: jobs.Claim, **columns: Any) -> None:
    """End it, unless something changed while it was sent: that waits for the next mail."""
    with transaction.atomic():
        stored = OwnerNotice.objects.select_for_update().get(pk=notice.pk)
        if stored.due_at > notice.due_at:
            sent_at = columns.get("sent_at")
            least = sent_at + AT_MOST_EVERY if isinstance(sent_at, datetime) else stored.due_at
            columns |= {"state": JobState.WAITING, "due_at": max(stored.due_at, least), "handed_at": None}
        claim.finish(**columns)


def _later(notice: OwnerNotice, claim: jobs.Claim, why: str) -> None:
    failures = notice.failures + 1
    wait = mail.again_after(failures)
    if wait is None:
        claim.fail(_(GIVEN_UP).format(why=why), failures=0, handed_at=None)
        return
    again = {"state": JobState.WAITING, "error": _(REFUSED).format(why=why), "due_at": now() + wait}
    claim.finish(failures=failures, handed_at=None, **again)
