"""Mails about quotes: to the owner's people when one is sent, to the office when it is answered. After the commit."""

import logging
from collections.abc import Iterable
from smtplib import SMTPException

from django.core.mail import send_mail
from django.db import transaction

from core.calc.format import day, price
from core.services import mail
from planning.calc.vocabulary import Answer
from planning.models import QuoteVersion
from planning.selectors.quotes import office_of

log = logging.getLogger(__name__)


def tell_owner(*, version: QuoteVersion, link: str) -> int:
    """Mail whoever reads for the owner. Returns to how many addresses; 0 where this server has no outgoing mail."""
    owner = version.quote.owner
    people = owner.people.filter(user__is_active=True).values_list("user__email", flat=True)
    firm = version.quote.organisation
    return _mail(
        people,
        f"{version} from {firm}",
        f"{firm} sends you {version}: {price(version.total, version.currency)} in all. "
        f"It can be approved until {day(version.valid_until)}.\n\nRead it and answer it here:\n{link}\n",
    )


def tell_office(*, version: QuoteVersion, link: str) -> int:
    """Mail who sent the quote and who made it. Returns to how many addresses; 0 where there is no outgoing mail."""
    done = "approved" if version.state == Answer.APPROVED else "declined"
    note = f"\n\nTheir note: {version.decision_note}" if version.decision_note else ""
    return _mail(
        [person.email for person in office_of(version)],
        f"{version} is {done}",
        f"{version.decided_by} {done} {version} for {version.quote.owner}, "
        f"{price(version.total, version.currency)} in all.{note}\n\n{link}\n",
    )


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
