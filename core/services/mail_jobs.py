"""Mails that are jobs: handed to the mail server once, and tried again while it refuses.

A row has `handed_at`, `failures`, `due_at` and `sent_at` beside the columns of a job.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import translation
from django.utils.timezone import now
from django.utils.translation import gettext as _

from core.calc.jobs import JobState
from core.errors import ClaimLostError, MailAnswerLostError, MailRefusedError
from core.services import jobs, mail


@dataclass(frozen=True, slots=True)
class Told:
    """What the office reads, in English: it is looked up in the language of the firm.

    refused, given_up: with {why}, the server's words; unknown: where nobody can tell.
    """

    refused: str
    given_up: str
    unknown: str


def deliver(row: Any, claim: jobs.Claim, write: Callable[[], EmailMessage], told: Told) -> None:
    """Hand the mail of a row over and note what became of it. write: what to send, called once it leaves."""
    try:
        mail.hand_over(lambda: leaving(row, claim, write))
    except MailRefusedError as error:
        _later(row, claim, str(error), told)
    except MailAnswerLostError:
        claim.fail(said_to_office(row, told.unknown))
    else:
        claim.finish(sent_at=now(), failures=0)


@transaction.atomic
def leaving(row: Any, claim: jobs.Claim, write: Callable[[], EmailMessage]) -> EmailMessage:
    """Note that the mail leaves now, and write it. One conditional update: of two workers one gets past it.

    Only that one writes, so that one who comes late changes nothing that the other mailed.
    """
    mine = type(row).objects.filter(
        pk=row.pk, state=JobState.RUNNING, claim_number=claim.number, handed_at=None
    )
    if not mine.update(handed_at=now()):
        raise ClaimLostError(f"{row} is held by somebody else, or was handed over.")
    return write()


def said_to_office(row: Any, text: str) -> str:
    """A text in the language of the firm, whose office reads it on the row."""
    path = str(getattr(type(row)._default_manager.all(), "organisation_path", "organisation"))
    firm = reduce(lambda at, name: getattr(at, name, None), path.split("__"), row)
    with translation.override(getattr(firm, "language", None) or settings.LANGUAGE_CODE):
        return _(text)


def _later(row: Any, claim: jobs.Claim, why: str, told: Told) -> None:
    failures = row.failures + 1
    wait = mail.again_after(failures)
    if wait is None:
        claim.fail(said_to_office(row, told.given_up).format(why=why), failures=0, handed_at=None)
        return
    again = {
        "state": JobState.WAITING,
        "error": said_to_office(row, told.refused).format(why=why),
        "due_at": now() + wait,
    }
    claim.finish(failures=failures, handed_at=None, **again)
