"""Invitations by the secret of their link: the secret is the permission."""

from accounts.models import Invitation
from core.calc.secrets import hash_of


def unused_invitation(token: str) -> Invitation | None:
    """The invitation of a link, None where there is none or it was used; it may have run out."""
    return Invitation.objects.filter(token_hash=hash_of(token), accepted_at=None).first()


def open_invitation(token: str) -> Invitation | None:
    """The invitation of a link, None where there is none, it was used, or it has run out."""
    found = unused_invitation(token)
    return None if found is None or found.has_run_out else found
