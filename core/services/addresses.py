"""Where people reach this server, for mails that no request of a browser leads to."""

from django.conf import settings


def full_address(path: str) -> str:
    """The whole address of a path of this server."""
    return f"{settings.ADDRESS}{path}"
