"""What a person sees when a form has gone stale, or when a record cannot be read."""

import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from core.calc.payload import UNREADABLE
from core.errors import UnreadablePayloadError

log = logging.getLogger(__name__)


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a failed cross-site check in words that say what to do."""
    return render(request, "stale_form.html", {"reason": reason}, status=403)


class UnreadableRecordMiddleware:
    """Answers in words where a page needs a record that another edition of the program stored."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, UnreadablePayloadError):
            return None
        log.error("%s needs a record that cannot be read", request.path, exc_info=exception)
        return render(request, "unreadable.html", {"why": UNREADABLE}, status=503)
