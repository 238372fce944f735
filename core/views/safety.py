"""What every answer and every request is held to, whoever made the page."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# Scripts and pictures come from this server alone. Charts and drawings set styles of their own while they are drawn.
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "media-src 'self'; object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'none'"
)
MOST_ANONYMOUS_BYTES = 64 * 1024  # a form to sign in or up has less than 2 kB


class SafetyMiddleware:
    """A policy for what a page may load, nothing private in shared caches, and no large bodies of strangers."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if _is_too_large(request):
            return render(request, "too_large.html", {"most_kb": MOST_ANONYMOUS_BYTES // 1024}, status=413)
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "camera=(self), geolocation=(self), microphone=()")
        if not response.has_header("Cache-Control"):
            response.headers["Cache-Control"] = "no-store, private"
        return response


def _is_too_large(request: HttpRequest) -> bool:
    """Whether somebody who is not signed in sends more than any form for strangers holds; told from the header."""
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not (length.isascii() and length.isdigit()) or int(length) <= MOST_ANONYMOUS_BYTES:
        return False
    return settings.SESSION_COOKIE_NAME not in request.COOKIES or not request.user.is_authenticated
