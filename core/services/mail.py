"""Whether mail leaves this server."""

from django.conf import settings

PRINTED_OR_DROPPED = ("console", "dummy", "filebased")


def is_set_up() -> bool:
    """Whether a mail server is configured; without one, mails are printed to the log and nobody receives them."""
    kind = str(settings.EMAIL_BACKEND).split(".")[-2]
    return kind not in PRINTED_OR_DROPPED
