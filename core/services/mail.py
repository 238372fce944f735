"""Whether mail leaves this server, how it is handed over, and when what a mail server refused is tried again."""

from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from smtplib import SMTPException, SMTPServerDisconnected

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from core.errors import MailAnswerLostError, MailRefusedError

PRINTED_OR_DROPPED = ("console", "dummy", "filebased")
AGAIN_AFTER = tuple(timedelta(minutes=minutes) for minutes in (5, 15, 60))
MOST_FAILURES = 24  # about a day


def is_set_up() -> bool:
    """Whether a mail server is configured; without one, mails are printed to the log and nobody receives them."""
    kind = str(settings.EMAIL_BACKEND).split(".")[-2]
    return kind not in PRINTED_OR_DROPPED


def again_after(failures: int) -> timedelta | None:
    """How long to wait after so many failures in a row; None where it is not tried any more."""
    if failures >= MOST_FAILURES:
        return None
    return AGAIN_AFTER[min(failures, len(AGAIN_AFTER)) - 1]


def hand_over(write: Callable[[], EmailMessage]) -> None:
    """Give a mail to the mail server, once.

    write: gives the mail, called once the server listens and before it is given anything, so that a worker that dies
    after it has left a note.
    Raises MailRefusedError where the server has not got it, and MailAnswerLostError where nobody knows.
    """
    connection = get_connection()
    try:
        connection.open()
    except OSError as error:  # what smtplib raises is one
        raise MailRefusedError(in_short(error)) from error
    try:
        _give(connection.send_messages, write())
    finally:
        with suppress(OSError):  # what the server says to a goodbye changes nothing of what it took
            connection.close()


def _give(send: Callable[[list[EmailMessage]], object], message: EmailMessage) -> None:
    """A server that answers with a refusal did not take the mail; one that is gone may have."""
    try:
        send([message])
    except SMTPServerDisconnected as error:
        raise MailAnswerLostError(in_short(error)) from error
    except SMTPException as error:
        raise MailRefusedError(in_short(error)) from error
    except OSError as error:
        raise MailAnswerLostError(in_short(error)) from error


def in_short(error: Exception) -> str:
    """What a mail server said, on one line."""
    return " ".join(str(error).split())[:200] or type(error).__name__
