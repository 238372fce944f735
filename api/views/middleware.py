"""What the addresses of the API are held to, whoever answers them: no cookies, bounded bodies, problems for errors."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from api.calc.problems import KINDS, MEDIA_TYPE, ProblemError
from api.views.answers import problem
from core.views.safety import MOST_ANONYMOUS_BYTES

UNDER, PAGES = "/api/", "/api/docs"
MOST_BYTES = MOST_ANONYMOUS_BYTES  # one record, a hundred times over
TOO_LARGE = gettext_noop(
    "The body has %(size)s bytes; at most %(most)d are taken. Send one record at a time."
)
ONLY_JSON = gettext_noop(
    "Accept asks for %(asked)r; JSON is all there is. Accept application/json, or leave the field out."
)
NOT_THERE = gettext_noop("There is nothing at %(path)s. The addresses are listed at /api/docs/.")
CONTENT_SECURITY_POLICY = "default-src 'none'; frame-ancestors 'none'"
KEPT = ("Allow", "Retry-After", "WWW-Authenticate")


class ApiMiddleware:
    """Stands before sessions: with a cookie nobody comes in here, so that no other site can send what a person may."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path_info.startswith(UNDER) or request.path_info.startswith(PAGES):
            return self.get_response(request)
        request.COOKIES = {}
        translation.activate(translation.get_language_from_request(request))
        response = self._answer(request)
        allowance = getattr(request, "allowance", None)
        for name, value in allowance.headers().items() if allowance else ():
            response.headers[name] = value
        response.headers["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
        response.headers["Cache-Control"] = "no-store, private"
        response.headers["Vary"] = "Authorization, Accept, Accept-Language"
        return response

    def _answer(self, request: HttpRequest) -> HttpResponse:
        refused = _too_large(request) or _not_acceptable(request)
        if refused is not None:
            return refused
        if request.method == "HEAD":
            return self._head(request)
        return _as_problem(request, self.get_response(request))

    def _head(self, request: HttpRequest) -> HttpResponse:
        """What GET answers, without its body (RFC 9110, 9.3.2)."""
        request.method = "GET"
        response = _as_problem(request, self.get_response(request))
        request.method, response.content = "HEAD", b""
        return response


def _too_large(request: HttpRequest) -> HttpResponse | None:
    size = request.META.get("CONTENT_LENGTH") or "0"
    if size.isascii() and size.isdigit() and int(size) > MOST_BYTES:
        return problem(request, ProblemError(413, _(TOO_LARGE) % {"size": size[:20], "most": MOST_BYTES}))
    return None


def _not_acceptable(request: HttpRequest) -> HttpResponse | None:
    asked = request.headers.get("Accept", "*/*")
    if request.accepts("application/json") or not asked.strip():
        return None
    return problem(request, ProblemError(406, _(ONLY_JSON) % {"asked": asked[:80]}))


def _as_problem(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """A page that says an error, made by whoever met it, as the problem that a program reads."""
    if response.status_code < 400 or response.get("Content-Type") == MEDIA_TYPE:
        return response
    kind = KINDS.get(response.status_code)
    words = _(kind.what_to_do) if kind else response.reason_phrase
    if response.status_code == 404:
        words = _(NOT_THERE) % {"path": request.path}
    kept = {name: response.headers[name] for name in KEPT if name in response.headers}
    return problem(request, ProblemError(response.status_code, words, headers=kept))
