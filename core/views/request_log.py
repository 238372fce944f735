"""A line of the log for each request, and an id by which that line, its tasks and the page a person saw are one."""

from time import monotonic
from typing import Any

import structlog
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django_structlog.middlewares import RequestMiddleware

from core.services import log_context

HEADER = "X-Request-ID"
# Asked every few seconds, or many times a page: told only where something is wrong.
QUIET = ("/live/", "/ready/", "/health/", "/metrics/", settings.STATIC_URL)
WRONG_FROM = 400


class RequestLog(RequestMiddleware):
    """Gives each request an id, answers with it, and logs address, status and duration without what was searched for.

    The first of all middlewares, so that no answer is without.
    """

    def prepare(self, request: HttpRequest) -> None:
        """Begin a request. An id of somebody else's is taken from a proxy of ours alone."""
        given = request.headers.get(HEADER, "") if settings.PROXIES else ""
        log_context.begin_request(given)
        vars(request)["begun_s"] = monotonic()

    def handle_response(self, request: HttpRequest, response: HttpResponse) -> None:
        """Send the id back, and say what came of the request."""
        response.headers[HEADER] = log_context.request_id()
        self._say_duration(request)
        if request.path.startswith(QUIET) and response.status_code < WRONG_FROM:
            structlog.contextvars.clear_contextvars()
            return
        file = getattr(response, "file_to_stream", None)
        super().handle_response(request, response)
        if file is not None:  # the server hands files out by itself, which is quicker than piece by piece
            vars(response)["file_to_stream"] = file

    @staticmethod
    def format_request(request: HttpRequest) -> str:
        """Method and path; what follows the question mark may name people. Nothing in it begins a new line."""
        return f"{request.method} {request.path}".encode("unicode_escape").decode("ascii")

    @staticmethod
    def bind_user_id(request: HttpRequest) -> None:
        """Nothing: who asks is told by the middleware that finds it out, so that no page costs a query more."""

    def _process_exception(self, request: HttpRequest, exception: Exception) -> None:
        self._say_duration(request)
        super()._process_exception(request, exception)

    def _say_duration(self, request: HttpRequest) -> None:
        took_s: Any = monotonic() - vars(request).get("begun_s", monotonic())
        structlog.contextvars.bind_contextvars(duration_ms=round(1000 * took_s))
