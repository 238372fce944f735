"""Writing to one another about a surface, and telling the other side by mail.

The mail is a job: what a mail server refuses is sent again later, and nobody gets it twice. Where nobody can tell
whether the server took it, it is not sent again.
"""

from collections.abc import Iterable
from datetime import timedelta

from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override, pgettext

from accounts.models import User
from core.errors import NotAllowedNowError
from core.services import jobs, mail, mail_jobs
from core.services.records import find_by_device_id, save_once, void_record
from qa.models import Surface
from reporting.models import MessageMail, ThreadMessage
from reporting.presentation.message_mail import mail_text, subject_of
from reporting.selectors.messages import may_be_told, office_of, owners_readers
from reporting.services.notices import tell_message

MOST_AN_HOUR = 10
MOST_A_DAY = 40
EMPTY = gettext_noop("Write what you want to say.")
TOO_MANY = gettext_noop(
    "You have written %(count)d messages in the last %(span)s, as many as are taken from one person. "
    "Write again later, or phone the office."
)
NOT_SET_UP = gettext_noop(
    "this server has no outgoing mail. Tell them by phone, or have RAINTHROUGH_EMAIL_URL set."
)
REFUSED = gettext_noop("the mail server did not take it: {why}. It is sent again.")
GIVEN_UP = gettext_noop("the mail server did not take it in a day: {why}. Tell them by phone.")
UNKNOWN = gettext_noop(
    "the mail server was given it, and its answer was lost. It is not sent again, so nobody gets it twice."
)
NOT_WAITING = gettext_noop("It does not wait for an answer: it was answered, or somebody marked it before.")


@transaction.atomic
def write(
    *, message: ThreadMessage, surface: Surface, by: User, from_owner: bool, link: str
) -> ThreadMessage:
    """Add a message to the thread of a surface and have the other side told.

    Raises NotAllowedNowError where somebody of an owner writes more than an office can read.
    """
    message.surface, message.owner = surface, surface.site.owner
    message.recorded_by, message.from_owner = by, from_owner
    message.text = message.text.strip()
    if not message.text:
        raise ValidationError({"text": _(EMPTY)})
    if first := find_by_device_id(message, surface=surface):
        return first
    if from_owner:
        _refuse_flood(by)
    stored = save_once(message, surface=surface)
    _ask_mails(stored, link)
    tell_message(message=stored)
    return stored


def _refuse_flood(by: User) -> None:
    User.objects.select_for_update().get(pk=by.pk)  # two at once are counted one after the other
    mine = ThreadMessage.objects.filter(recorded_by=by, from_owner=True)
    hour, day = pgettext("a span of time", "hour"), pgettext("a span of time", "day")
    for span, hours, most in ((hour, 1, MOST_AN_HOUR), (day, 24, MOST_A_DAY)):
        if mine.filter(written_at__gt=now() - timedelta(hours=hours)).count() >= most:
            raise NotAllowedNowError(_(TOO_MANY) % {"count": most, "span": span})


def _ask_mails(message: ThreadMessage, link: str) -> None:
    to = office_of(message) if message.from_owner else owners_readers(message)
    mails = [MessageMail(message=message, to=person, link=link, due_at=now()) for person in to]
    MessageMail.objects.bulk_create(mails)
    transaction.on_commit(lambda: _nudge(mails), robust=True)


def _nudge(mails: Iterable[MessageMail]) -> None:
    for one in mails:
        jobs.nudge(one)


@transaction.atomic
def withdraw(*, message: ThreadMessage, by: User, reason: str) -> ThreadMessage:
    """Take a message back: its own side still reads it, with the reason; the other reads that it was withdrawn."""
    return void_record(fact=message, by=by, reason=reason)


@transaction.atomic
def settle(*, message: ThreadMessage, by: User) -> ThreadMessage:
    """Mark an owner's message, such as thanks, as needing no answer. Raises NotAllowedNowError where it waits not."""
    waiting = ThreadMessage.objects.waiting().filter(pk=message.pk)
    at = now()
    if not ThreadMessage.objects.filter(pk__in=waiting.values("pk")).update(settled_at=at, settled_by=by):
        raise NotAllowedNowError(_(NOT_WAITING))
    message.settled_at, message.settled_by = at, by
    return message


@jobs.works_on(MessageMail)
def send_message_mail(one: MessageMail, claim: jobs.Claim) -> None:
    """Tell one person of one message, unless it was withdrawn or they lost the right to read it meanwhile."""
    with override(one.message.surface.organisation.language):  # what became of it the office reads
        _send(one, claim)


def _send(one: MessageMail, claim: jobs.Claim) -> None:
    if not one.message.is_active or not may_be_told(one.message, one.to):
        claim.finish()
    elif one.handed_at is not None:  # whoever had it died before noting what became of it
        claim.fail(_(UNKNOWN))
    elif not mail.is_set_up():
        claim.fail(_(NOT_SET_UP))
    else:
        mail_jobs.deliver(one, claim, lambda: _letter(one), _told())


def _told() -> mail_jobs.Told:
    return mail_jobs.Told(_(REFUSED), _(GIVEN_UP), _(UNKNOWN))


def _letter(one: MessageMail) -> EmailMessage:
    """In the language of whoever gets it."""
    message = one.message
    firm = message.surface.organisation
    usual = firm.language if message.from_owner else message.owner.reads
    with override(one.to.language or usual):
        return _written(one)


def _written(one: MessageMail) -> EmailMessage:
    message, site = one.message, one.message.surface.site
    place = f"{message.surface.name}, {site.name}"
    writer = str(site.organisation)
    if message.from_owner:
        writer = _("{person} for {owner}").format(person=message.recorded_by, owner=message.owner)
    subject = subject_of(place, from_owner=message.from_owner)
    return EmailMessage(subject, mail_text(writer, place, message.text, one.link), None, [one.to.email])
