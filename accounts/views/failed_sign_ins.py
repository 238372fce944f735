"""A line in the log for every failed sign-in: who watches it sees that somebody tries."""

import logging
from typing import Any

from allauth.account.adapter import get_adapter
from django.http import HttpRequest

from core.calc.secrets import hash_of

log = logging.getLogger(__name__)


def log_failure(
    sender: object, credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any
) -> None:
    """From where, and a mark of the address that was typed: people mistype their password into its field."""
    who = str(credentials.get("email") or credentials.get("username") or "").lower()
    address = get_adapter().get_client_ip(request) if request else "unknown"
    log.warning("Failed sign-in from %s as %s", address, hash_of(who)[:12])
