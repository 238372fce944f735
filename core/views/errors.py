"""What a person sees when a step is refused outside the flow of a form."""

import logging
import sys
from collections.abc import Callable
from http import HTTPStatus

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views import defaults

from core.calc.payload import UNREADABLE
from core.errors import NotAllowedNowError, RainthroughError, UnreadablePayloadError, UnusableRecordError
from core.services.storage import NO_ROOM, is_full
from core.views.form_views import CONFLICT

log = logging.getLogger(__name__)

UNREAD = gettext_noop(
    "What was sent is damaged or has another form than this page sends. Go back, load the page anew and send it once "
    "more; if that fails too, tell whoever runs this server."
)
HEADINGS: dict[type[RainthroughError], str] = {
    NotAllowedNowError: gettext_noop("This cannot be done now"),
    UnusableRecordError: gettext_noop("This record cannot be worked out"),
    UnreadablePayloadError: gettext_noop("A record on this page cannot be read"),
}


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a failed cross-site check in words that say what to do."""
    return render(request, "stale_form.html", {"reason": reason}, status=403)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer what no view met: a full disk in words that say what to do, else that it is a fault of ours."""
    if not is_full(sys.exc_info()[1]):
        return defaults.server_error(request)
    log.critical("No room is left on the disk of the server")
    context = {"heading": _("The disk of the server is full"), "text": _(NO_ROOM)}
    try:
        return render(request, "refused.html", context, status=HTTPStatus.INSUFFICIENT_STORAGE)
    except (DatabaseError, OSError):  # the frame of the page cannot be made either
        return defaults.server_error(request)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a request that cannot be read, in words."""
    context = {"heading": _("This could not be read"), "text": _(UNREAD)}
    return render(request, "refused.html", context, status=HTTPStatus.BAD_REQUEST)


class RefusalMiddleware:
    """Answers an error of ours that no view met with a page that says it, rather than as a fault of the server."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """A page for the errors that people can do something about; None leaves the others to Django."""
        for kind, heading in HEADINGS.items():
            if isinstance(exception, kind):
                context = {"heading": _(heading), "text": words_of(request, exception)}
                return render(request, "refused.html", context, status=CONFLICT)
        return None


def words_of(request: HttpRequest, exception: RainthroughError) -> str:
    """The error in words; one that only who runs the server can mend is logged as well."""
    if not isinstance(exception, UnreadablePayloadError):
        return str(exception)
    log.error("%s needs a record that cannot be read", request.path, exc_info=exception)
    return f"{_(UNREADABLE)} {exception}"
