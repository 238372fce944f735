"""Mails about quotes: to the owner's people when one is sent, to the office when it is answered. After the commit."""

import logging
from collections.abc import Iterable
from smtplib import SMTPException

from django.core.mail import send_mail
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import override

from core.calc.format import day, price
from core.services import mail
from planning.calc.vocabulary import Answer
from planning.models import QuoteVersion
from planning.selectors.quotes import office_of
from planning.services.languages import by_language, readers_by_language

log = logging.getLogger(__name__)


def tell_owner(*, version: QuoteVersion, link: str) -> int:
    """Mail whoever reads for the owner. Returns to how many addresses; 0 where this server has no outgoing mail."""
    firm, told = version.quote.organisation, 0
    for language, people in readers_by_language(version.quote.owner).items():
        with override(language):
            total, until = price(version.total, version.currency), day(version.valid_until)
            sends = _("{firm} sends you {quote}: {total} in all. It can be approved until {day}.")
            said = sends.format(firm=firm, quote=version, total=total, day=until)
            subject = _("{quote} from {firm}").format(quote=version, firm=firm)
            text = f"{said}\n\n" + _("Read it and answer it here:") + f"\n{link}\n"
        told += _mail([person.email for person in people], subject, text)
    return told


def tell_office(*, version: QuoteVersion, link: str) -> int:
    """Mail who sent the quote and who made it. Returns to how many addresses; 0 where there is no outgoing mail."""
    told = 0
    for language, people in by_language(office_of(version), version.quote.organisation).items():
        with override(language):
            subject, text = _answer(version)
        told += _mail([person.email for person in people], subject, f"{text}\n\n{link}\n")
    return told


def _answer(version: QuoteVersion) -> tuple[str, str]:
    """Subject and text of the mail to the office."""
    subject, said = _("{quote} is approved"), _("{who} approved {quote} for {owner}, {total} in all.")
    if version.state != Answer.APPROVED:
        subject, said = _("{quote} is declined"), _("{who} declined {quote} for {owner}, {total} in all.")
    total = price(version.total, version.currency)
    parts = [said.format(who=version.decided_by, quote=version, owner=version.quote.owner, total=total)]
    if version.decision_note:
        parts.append(_("Their note: {note}").format(note=version.decision_note))
    return subject.format(quote=version), "\n\n".join(parts)


def _mail(to: Iterable[str], subject: str, text: str) -> int:
    """Each address by itself, so that nobody learns who else reads. A mail that fails undoes nothing: it is logged."""
    people = sorted(set(to)) if mail.is_set_up() else []

    def send() -> None:
        for address in people:
            _send(subject, text, address)

    transaction.on_commit(send, robust=True)
    return len(people)


def _send(subject: str, text: str, address: str) -> None:
    try:
        send_mail(subject, text, None, [address])
    except (SMTPException, OSError):
        log.exception("A mail about a quote was not taken: %s", subject)
