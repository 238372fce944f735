"""Who may open an account."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

JOIN_KEY = "joining_token"


class AccountAdapter(DefaultAccountAdapter):
    """Sign-up is open to new firms unless the server says otherwise; invited people may always sign up."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return settings.SIGN_UP_OPEN or JOIN_KEY in request.session

    def get_login_redirect_url(self, request: HttpRequest) -> str:
        """Back to the invitation that sent the person here, if one did."""
        token = request.session.get(JOIN_KEY)
        if token:
            return reverse("accounts:invitation-accept", args=[token])
        return str(super().get_login_redirect_url(request))

    def get_signup_redirect_url(self, request: HttpRequest) -> str:
        return self.get_login_redirect_url(request)

    def populate_username(self, request: HttpRequest, user: Any) -> None:
        """There is no user name: people sign in with their e-mail address."""
