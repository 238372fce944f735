"""Sending kept documents by mail: each address once, with a link of its own, tried again while the server refuses.

A mail is handed to the mail server once. Where nobody can tell whether that took it, it is not sent again by itself:
the office reads so and decides.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from uuid import UUID, uuid5

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage
from django.db import transaction
from django.urls import reverse
from django.utils.text import slugify
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, override

from accounts.calc.audience import Audience
from accounts.models import OwnerPerson, User
from core.calc.jobs import JobState
from core.calc.units import UnitSystem
from core.errors import AlreadyDoneError, NotAllowedNowError, UnreadablePayloadError
from core.models.rows import validate_and_save
from core.services import jobs, mail, mail_jobs
from qa.models import Site
from reporting.calc.sharing import MOST_ADDRESSES, LinkState
from reporting.models import Sending, SharedLink, Snapshot
from reporting.presentation.pdf import pdf_of
from reporting.presentation.report_mail import Letter
from reporting.selectors.kept import thaw
from reporting.services import kept, links
from reporting.services.papers import paper_of

MOST_ATTACHED_BYTES = (
    8_000_000  # many mail servers take ten megabytes, and an attachment grows by a third on its way
)
NOBODY = gettext_noop("Choose somebody who reads for the owner, or type an address.")
TOO_MANY = gettext_noop("%(given)d addresses are too many for one sending. Give at most %(most)d.")
HAVE_IT = gettext_noop(
    "Nothing was sent: %(given)s got this document before, or it is on its way there. Give another address, or revoke "
    "the link they have and send it anew."
)
NOT_SET_UP = gettext_noop("This server has no outgoing mail. Take its link and pass it on yourself.")
REFUSED = gettext_noop("The mail server did not take it: {why}. It is sent again.")
GIVEN_UP = gettext_noop(
    "The mail server did not take it in a day: {why}. Check the address, or take its link and pass it on."
)
UNKNOWN = gettext_noop(
    "The connection broke while the mail server took it, so it may have arrived or not. Ask whoever was to get it; it "
    "is not sent again by itself."
)
ENDED = gettext_noop("It was not sent, since its link has ended: {why}.")
NOT_SENT = gettext_noop("It was not sent: {why}")
NO_LONGER_READS = gettext_noop(
    "It was not sent, since whoever was to get it no longer reads for the owner. Send the document to their address "
    "if they shall have it all the same."
)
TOO_LARGE = gettext_noop("The PDF is too large for a mail; the link opens it.")


class Recipient(NamedTuple):
    """An address, and whose it is where they read for the owner."""

    address: str
    person: OwnerPerson | None = None


@dataclass(frozen=True, slots=True)
class Mailing:
    """What goes with a document, and to whom. server: the address of this server; ends_on: of the links, None: usual.

    device_id: of the form, so that sending it twice sends once.
    """

    recipients: Sequence[Recipient]
    server: str
    message: str = ""
    with_pdf: bool = False
    ends_on: date | None = None
    units: str = UnitSystem.SI.value
    device_id: UUID | None = None


@transaction.atomic
def send_report(
    *, site: Site, audience: Audience, since: date, mailing: Mailing, by: User | None
) -> Snapshot:
    """Keep a site's report as it reads now, and have it sent. Raises ValidationError.

    by: None where it goes by itself.
    """
    check_recipients(mailing.recipients)
    document = kept.freeze_report(
        site=site, audience=audience, since=since, by=by, device_id=mailing.device_id
    )
    return send_document(document=document, mailing=mailing, by=by)


def check_recipients(recipients: Sequence[Recipient]) -> None:
    """Raise ValidationError where there is none, or too many."""
    if not recipients:
        raise ValidationError({"addresses": _(NOBODY)})
    if len(recipients) > MOST_ADDRESSES:
        params = {"given": len(recipients), "most": MOST_ADDRESSES}
        raise ValidationError({"addresses": ValidationError(_(TOO_MANY), params=params)})


@transaction.atomic
def send_document(*, document: Snapshot, mailing: Mailing, by: User | None) -> Snapshot:
    """Have a kept document sent to who did not get it yet, or whose link ended. Raises NotAllowedNowError.

    Raises ValidationError too where everybody has it already, or it is on its way to them; a form sent twice does not.
    """
    check_recipients(mailing.recipients)
    # The document's row is the lock: two who send it to one address at once queue here.
    document = Snapshot.objects.select_for_update().get(pk=document.pk)
    links.check_shareable(document)
    rows = document.sendings.select_for_update(of=("self",)).select_related("link__document")
    known = {row.address: row for row in rows}
    had = []
    for recipient in mailing.recipients:
        once, row = _once(document, recipient, mailing), known.get(recipient.address)
        if row is None:
            row = Sending(document=document, organisation=document.organisation, address=recipient.address)
        elif once is not None and row.device_id == once:  # by this very form
            continue
        elif _is_over(row):
            _begin_anew(row, by)
        else:
            had.append(recipient.address)
            continue
        row.device_id, known[recipient.address] = once, row
        _ask(row, recipient, mailing, by)
    if len(had) == len(mailing.recipients):
        raise ValidationError({"addresses": ValidationError(_(HAVE_IT), params={"given": ", ".join(had)})})
    return document


def _once(document: Snapshot, recipient: Recipient, mailing: Mailing) -> UUID | None:
    """The mark of this form on the row of this address, by which a repeat of the form is known."""
    return mailing.device_id and uuid5(mailing.device_id, f"{document.pk} {recipient.address}")


def _is_over(row: Sending) -> bool:
    """Whether the address has nothing of it that opens, nor gets it: its link has ended, or its mail failed."""
    return (row.state == JobState.FAILED and row.sent_at is None) or not _opens(row.link)


def _opens(link: SharedLink) -> bool:
    return link.state_at(now()) in (LinkState.OPEN, LinkState.UNSEEN)


def _begin_anew(row: Sending, by: User | None) -> None:
    """Forget what became of the earlier mail; a worker still at it loses its claim. Its link ends, unless taken."""
    if by is not None and row.link.shown_to_id is None and _opens(row.link):
        links.revoke_link(link=row.link, by=by)
    row.sent_at = row.handed_at = row.lease_until = row.finished_at = None
    row.failures = row.attempts = 0
    row.claim_number, row.due_at = row.claim_number + 1, now()


def _ask(row: Sending, recipient: Recipient, mailing: Mailing, by: User | None) -> None:
    link = SharedLink(for_whom=recipient.address[:120], units=mailing.units)
    link.ends_on = mailing.ends_on or links.usual_last_day(row.organisation)
    row.link = links.share_document(link=link, document=row.document, by=by)
    row.person, row.for_reader = recipient.person, recipient.person is not None
    row.message, row.with_pdf, row.server = mailing.message, mailing.with_pdf, mailing.server.rstrip("/")
    row.asked_by, row.asked_at = by, now()
    ready = mail.is_set_up()
    with override(row.organisation.language):
        row.state, row.error = (JobState.WAITING, "") if ready else (JobState.FAILED, _(NOT_SET_UP))
    validate_and_save(row)


@transaction.atomic
def send_again(*, sending: Sending) -> None:
    """Have a mail tried anew that was given up. Raises AlreadyDoneError for one that was sent or waits.

    An address that somebody took meanwhile ends when the mail goes out.
    """
    failed = Sending.objects.filter(pk=sending.pk, state=JobState.FAILED, sent_at=None)
    fresh = {"state": JobState.WAITING, "error": "", "failures": 0, "attempts": 0}
    if not failed.update(**fresh, handed_at=None, due_at=now()):
        raise AlreadyDoneError(_("This mail was sent, or waits to be sent."))
    SharedLink.objects.filter(sending=sending).update(shown_to=None)


@jobs.works_on(Sending)
def send_one(sending: Sending, claim: jobs.Claim) -> None:
    """Send a document to one address, unless its link has ended or was taken, or the mail was handed over before."""
    with override(sending.organisation.language):  # what became of it the office reads
        _deliver(sending, claim)


def _deliver(sending: Sending, claim: jobs.Claim) -> None:
    state = sending.link.state_at(now())
    if state not in (LinkState.OPEN, LinkState.UNSEEN):
        claim.fail(_(ENDED).format(why=state.in_sentence))
    elif sending.handed_at is not None:  # whoever had it died before noting what became of it
        claim.fail(_(UNKNOWN))
    elif sending.for_reader and (sending.person is None or not sending.person.user.is_active):
        claim.fail(_(NO_LONGER_READS))
    elif sending.link.shown_to_id is not None:
        claim.fail(_(NOT_SENT).format(why=_(links.TAKEN)))
    elif not mail.is_set_up():
        claim.fail(_(NOT_SET_UP))
    else:
        _send(sending, claim)


def _send(sending: Sending, claim: jobs.Claim) -> None:
    try:
        pdf = _paper(sending)
    except UnreadablePayloadError as error:  # what nobody can read is not sent
        claim.fail(_(NOT_SENT).format(why=error))
        return
    try:
        mail_jobs.deliver(sending, claim, lambda: _message(sending, pdf), _told())
    except NotAllowedNowError as error:  # its link was taken or ended in between
        claim.fail(_(NOT_SENT).format(why=error))


def _told() -> mail_jobs.Told:
    return mail_jobs.Told(_(REFUSED), _(GIVEN_UP), _(UNKNOWN))


def _message(sending: Sending, pdf: bytes | None) -> EmailMessage:
    """In the language of its document."""
    with override(sending.document.language):
        return _written(sending, pdf)


def _written(sending: Sending, pdf: bytes | None) -> EmailMessage:
    secret = links.make_address(link=sending.link, to=None)
    document, fits = sending.document, pdf is not None and len(pdf) <= MOST_ATTACHED_BYTES
    letter = Letter(
        title=document.title,
        firm=sending.organisation.name,
        message=sending.message,
        address=f"{sending.server}{reverse('reporting:shared-show', args=[secret])}",
        ends_on=sending.link.ends_on,
        attached=fits,
        left_out=_(TOO_LARGE) if pdf is not None and not fits else "",
        demo_notice=_(settings.DEMO_NOTICE),
    )
    reply = [sending.asked_by.email] if sending.asked_by else None
    message = EmailMessage(letter.subject, letter.text, None, [sending.address], reply_to=reply)
    if pdf is not None and fits:
        message.attach(f"{slugify(document.title)[:80]}.pdf", pdf, "application/pdf")
    return message


def _paper(sending: Sending) -> bytes | None:
    """The document as a PDF where it is to be attached. Raises UnreadablePayloadError, attached or not."""
    snapshot = thaw(sending.document)
    if not sending.with_pdf:
        return None
    with override(sending.document.language):
        return pdf_of(paper_of(snapshot, sending.link.units))
