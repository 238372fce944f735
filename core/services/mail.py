"""Whether mail leaves this server, and when what a mail server refused is tried again."""

from datetime import timedelta

from django.conf import settings

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


def in_short(error: Exception) -> str:
    """What a mail server said, on one line."""
    return " ".join(str(error).split())[:200] or type(error).__name__
