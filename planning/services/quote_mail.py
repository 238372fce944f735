"""Mails about quotes: to the owner's people when one is sent, to the office when it is answered. After the commit."""

from collections.abc import Iterable

from django.core.mail import send_mail
from django.db import transaction

from core.calc.format import day, price
from planning.calc.vocabulary import Answer
from planning.models import QuoteVersion


def tell_owner(*, version: QuoteVersion, link: str) -> int:
    """Mail whoever reads for the owner. Returns to how many addresses."""
    owner = version.quote.owner
    people = list(owner.people.values_list("user__email", flat=True))
    firm = version.quote.organisation
    return _mail(
        people,
        f"{version} from {firm}",
        f"{firm} sends you {version}: {price(version.total, version.currency)} in all. "
        f"It can be approved until {day(version.valid_until)}.\n\nRead it and answer it here:\n{link}\n",
    )


def tell_office(*, version: QuoteVersion, link: str) -> int:
    """Mail who sent the quote and who made it. Returns to how many addresses."""
    people = [person.email for person in (version.sent_by, version.quote.made_by) if person]
    done = "approved" if version.state == Answer.APPROVED else "declined"
    note = f"\n\nTheir note: {version.decision_note}" if version.decision_note else ""
    return _mail(
        people,
        f"{version} is {done}",
        f"{version.decided_by} {done} {version} for {version.quote.owner}, "
        f"{price(version.total, version.currency)} in all.{note}\n\n{link}\n",
    )


def _mail(to: Iterable[str], subject: str, text: str) -> int:
    """Each address by itself, so that nobody learns who else reads. A mail that fails undoes nothing: it is logged."""
    people = sorted(set(to))

    def send() -> None:
        for address in people:
            send_mail(subject, text, None, [address])

    transaction.on_commit(send, robust=True)
    return len(people)
