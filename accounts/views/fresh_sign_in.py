"""What decides who gets in, or takes everything away, is done only after a fresh look at who is there.

Whoever finds a device that is signed in shall not be able to hand the firm to somebody. The question comes after the
role is checked, so that nobody is asked for a password and then told that they may not; what was sent is done once the
person has confirmed, so that nothing has to be typed again.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from allauth.account.decorators import reauthentication_required
from django.contrib.admin import AdminSite
from django.http import HttpRequest
from django.http.response import HttpResponseBase

SAFE = ("GET", "HEAD", "OPTIONS")  # RFC 9110, 9.2.1: they ask for nothing to be done


def require_fresh_sign_in(request: HttpRequest, *, also_to_look: bool = False) -> None:
    """Lead to where the person confirms who they are, unless they did within the last minutes.

    A page with a form may be looked at, unless what it shows is itself what must not get away: also_to_look.
    """
    if also_to_look or request.method not in SAFE:
        _confirmed(request)


def behind_fresh_sign_in(site: AdminSite) -> Callable[..., Callable[..., HttpResponseBase]]:
    """What a back office makes its views with, each of them asking first who is there, also to look."""
    usual = site.admin_view

    def admin_view(view: Callable[..., Any], cacheable: bool = False) -> Callable[..., HttpResponseBase]:
        made = usual(view, cacheable)

        @wraps(made)
        def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if site.has_permission(request):
                require_fresh_sign_in(request, also_to_look=True)
            answer: HttpResponseBase = made(request, *args, **kwargs)
            return answer

        return asked

    return admin_view


@reauthentication_required()  # type: ignore[untyped-decorator]  # of allauth
def _confirmed(request: HttpRequest) -> None:
    """Reached only by who has confirmed: the package raises what its middleware answers."""
