"""Who may open an account, and what is said where somebody does not get in."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Invitation
from accounts.selectors.invitations import open_invitation
from accounts.services import people
from accounts.views.sign_in_words import REFUSALS, SECOND_FACTOR_REFUSALS, in_readers_language

JOIN_KEY = "joining_token"
MAIL_KEY = "mail"  # in the link that is mailed, and in the session of who came by it


def invitation_behind(request: HttpRequest) -> Invitation | None:
    """The open invitation whose link led here; None without one, and where it was used or has run out."""
    token = request.session.get(JOIN_KEY)
    return open_invitation(token) if token else None


class SecondFactorAdapter(DefaultMFAAdapter):
    """Says in our words what is wrong with a code."""

    error_messages = DefaultMFAAdapter.error_messages | in_readers_language(SECOND_FACTOR_REFUSALS)

    def generate_authenticator_name(self, user: Any, type: Any) -> str:  # named by the package
        """What a new passkey is called where its person gives it no name."""
        number = user.authenticator_set.filter(type=type).count() + 1
        return _("Passkey {number}").format(number=number)

    def get_public_key_credential_rp_entity(self) -> dict[str, str]:
        """For which host passkeys are kept, and what devices call it."""
        entity: dict[str, str] = super().get_public_key_credential_rp_entity()
        return entity | {"name": settings.MFA_TOTP_ISSUER}


WAYS_TO_CONFIRM = {
    "reauthenticate": gettext_noop("with your password"),
    "mfa_reauthenticate": gettext_noop("with a code"),
    "mfa_reauthenticate:webauthn": gettext_noop("with a passkey"),
}


class AccountAdapter(DefaultAccountAdapter):
    """Sign-up is open to new firms unless the server says otherwise; invited people may always sign up."""

    error_messages = DefaultAccountAdapter.error_messages | in_readers_language(REFUSALS)

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return settings.SIGN_UP_OPEN or invitation_behind(request) is not None

    def is_email_verified(self, request: HttpRequest, email: str) -> bool:
        """Whether the mail of an invitation, by which the person comes to sign up, has proven the address."""
        invitation = invitation_behind(request)
        proven = invitation is not None and people.proves_address(
            invitation, request.session.get(MAIL_KEY, "")
        )
        return bool(proven and invitation and invitation.email == email.lower())

    def get_login_redirect_url(self, request: HttpRequest) -> str:
        """Back to the invitation that sent the person here, if one did."""
        token = request.session.get(JOIN_KEY)
        if token:
            return reverse("accounts:invitation-accept", args=[token])
        return str(super().get_login_redirect_url(request))

    def get_signup_redirect_url(self, request: HttpRequest) -> str:
        """Back to the invitation, or on to the firm that somebody without one comes to set up."""
        if request.session.get(JOIN_KEY) or not settings.SIGN_UP_OPEN:
            return self.get_login_redirect_url(request)
        return reverse("accounts:firm-found")

    def get_reauthentication_methods(self, user: Any) -> list[dict[str, Any]]:
        """The ways to confirm who is there, in our words."""
        ways = super().get_reauthentication_methods(user)
        return [way | {"description": _(WAYS_TO_CONFIRM[way["id"]])} for way in ways]

    def get_client_ip(self, request: HttpRequest) -> str:
        """The address whose attempts to sign in are counted: what the outermost proxy of ours saw.

        Whatever stands before that in X-Forwarded-For was written by the caller, and would let anybody be counted
        as somebody else.
        """
        hops = [hop.strip() for hop in request.headers.get("X-Forwarded-For", "").split(",") if hop.strip()]
        if settings.PROXIES and len(hops) >= settings.PROXIES:
            return hops[-settings.PROXIES]
        return str(request.META["REMOTE_ADDR"])

    def populate_username(self, request: HttpRequest, user: Any) -> None:
        """There is no user name: people sign in with their e-mail address."""
