"""A firm may ask its people for a second factor: until it is set up, its pages stay shut."""

from collections.abc import Callable
from http import HTTPStatus

from allauth.mfa.utils import is_mfa_enabled
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.selectors.memberships import works_where_it_is_asked
from core.views.json_answers import is_from_script, json_answer

ASKED = gettext_noop(
    "%(firm)s asks its people for a second factor. Set it up with an app on your phone, then go on."
)
# What must stay open for that: signing in and out, the factor itself, the choice of another firm, what pages load.
OPEN = ("/sign-in/", "/static/", "/join/")


class SecondFactorMiddleware:
    """Leads who acts for such a firm without a second factor to where it is set up."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith(OPEN) or request.path == reverse("accounts:firm-switch"):
            return self.get_response(request)
        if not _is_asked(request):
            return self.get_response(request)
        if is_from_script(request):
            text = _(ASKED) % {"firm": request.current.organisation}  # type: ignore[attr-defined]
            return json_answer(HTTPStatus.FORBIDDEN, code="second_factor", text=text)
        messages.info(request, _(ASKED) % {"firm": request.current.organisation})  # type: ignore[attr-defined]
        return redirect("mfa_index")


def _is_asked(request: HttpRequest) -> bool:
    """Whether the firm acted for asks for a factor that the person does not have."""
    if not request.user.is_authenticated or not works_where_it_is_asked(request.user):
        return False
    firm = request.current.organisation  # type: ignore[attr-defined]
    return bool(firm and firm.second_factor and not is_mfa_enabled(request.user))
