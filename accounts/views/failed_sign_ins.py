"""A line in the log for every sign-in, and for every one that failed: who watches it sees that somebody tries."""

import logging
from typing import Any

from allauth.account.adapter import get_adapter
from django.http import HttpRequest

from core.calc.secrets import hash_of

log = logging.getLogger(__name__)
UNKNOWN = "unknown"


def log_failure(
    sender: object, credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any
) -> None:
    """From where, and a mark of the address that was typed: people mistype their password into its field."""
    who = str(credentials.get("email") or credentials.get("username") or "").lower()
    address = _from_where(request) if request else UNKNOWN
    log.warning("Failed sign-in from %s as %s", address, hash_of(who)[:12])


def log_sign_in(sender: object, request: HttpRequest, user: Any, **_: Any) -> None:
    """From where, and the number of the person, by which the lines of their requests are found too."""
    log.info("Signed in from %s: person %s", _from_where(request), user.pk)


def _from_where(request: HttpRequest) -> str:
    """The address; a program within the server that lets somebody in has none."""
    return str(get_adapter().get_client_ip(request)) if "REMOTE_ADDR" in request.META else UNKNOWN
