"""What a proxy, a service manager or a person asks of the process and of the server."""

from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from operations.selectors.state import Check, checks

PLAIN = "text/plain; charset=utf-8"


@require_safe
def live(request: HttpRequest) -> HttpResponse:
    """200 while the process answers at all; asks nothing of anybody."""
    return HttpResponse("ok\n", PLAIN)


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """200 when requests can be served, else 503, with a line a check; says nothing that a stranger may not know."""
    found = list(checks())
    return HttpResponse(_text(found), PLAIN, status=_status(found))


def _status(found: list[Check]) -> HTTPStatus:
    missing = any(check.is_needed and not check.is_well for check in found)
    return HTTPStatus.SERVICE_UNAVAILABLE if missing else HTTPStatus.OK


def _text(found: list[Check]) -> str:
    first = {HTTPStatus.OK: "ok", HTTPStatus.SERVICE_UNAVAILABLE: "not ready"}[_status(found)]
    if first == "ok" and not all(check.is_well for check in found):
        first = "ok, but look at what is marked"
    lines = [f"{'ok' if check.is_well else '!!'} {check.name}: {check.words}" for check in found]
    return "\n".join([first, *lines, ""])
