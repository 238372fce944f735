"""What every answer and every request is held to, whoever made the page."""

import codecs
from collections.abc import Callable
from http import HTTPStatus

from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.views.json_answers import is_from_script, signed_out

# Scripts and pictures come from this server alone. Charts and drawings set styles of their own while they are drawn.
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "media-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
OTHER_CHARSET = gettext_noop(
    "It was sent in the character set %(charset)r. Send it as UTF-8, as the pages here do by themselves."
)
NUL_IN_ADDRESS = gettext_noop(
    "The address holds a character of code 0, which no text has. Follow a link, or type the address anew."
)
MOST_ANONYMOUS_BYTES = 64 * 1024  # a form to sign in or up has less than 2 kB


class SafetyMiddleware:
    """A policy for what a page may load, nothing private in shared caches, and no large bodies of strangers."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if _is_too_large(request):
            if is_from_script(request):  # it keeps what it sent, and asks the person to sign in
                return signed_out()
            return render(request, "too_large.html", {"most_kb": MOST_ANONYMOUS_BYTES // 1024}, status=413)
        refused = _refuse_unreadable(request)
        if refused:
            return refused
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", "camera=(self), geolocation=(self), microphone=()")
        if not response.has_header("Cache-Control"):
            response.headers["Cache-Control"] = "no-store, private"
        return response


def _refuse_unreadable(request: HttpRequest) -> HttpResponse | None:
    """A page for a request that no database or decoder could take; None for every other."""
    charset = request.content_params.get("charset", "utf-8") if request.content_params else "utf-8"
    if not _is_utf_8(charset):
        text = _(OTHER_CHARSET) % {"charset": charset[:40]}
        return _refusal(request, _("Another character set"), text, HTTPStatus.UNSUPPORTED_MEDIA_TYPE)
    _read_as_utf_8(request)  # a narrower one, such as us-ascii, is part of it
    cookies = "".join(request.COOKIES.values())
    if "\x00" in request.path:  # no row has such an id
        return _refusal(
            request, _("There is nothing at this address"), _(NUL_IN_ADDRESS), HTTPStatus.NOT_FOUND
        )
    _drop_nul(request)
    if "\x00" in cookies:
        return _refusal(request, _("This could not be read"), _(NUL_IN_ADDRESS), HTTPStatus.BAD_REQUEST)
    return None


def _read_as_utf_8(request: HttpRequest) -> None:
    # Setting `encoding` would first read the address in the one that was named, which may not be for texts at all.
    request._encoding = "utf-8"  # type: ignore[attr-defined]
    request.__dict__.pop("GET", None)


def _is_utf_8(charset: str) -> bool:
    try:
        return charset.isascii() and codecs.lookup(charset).name in ("utf-8", "ascii")
    except LookupError:
        return False


def _drop_nul(request: HttpRequest) -> None:
    """Take the character of code 0 out of what the address asks; pages do without what they cannot read there."""
    if "%00" not in request.META.get("QUERY_STRING", ""):
        return
    asked = QueryDict(mutable=True)
    for name, values in request.GET.lists():
        asked.setlist(name.replace("\x00", ""), [value.replace("\x00", "") for value in values])
    vars(request)["GET"] = asked


def _refusal(request: HttpRequest, heading: str, text: str, status: HTTPStatus) -> HttpResponse:
    _read_as_utf_8(request)
    if any("\x00" in value for value in request.COOKIES.values()):
        request.user = (
            AnonymousUser()
        )  # the frame of the page would look up the session that the cookie names
    return render(request, "refused.html", {"heading": heading, "text": text}, status=status)


def _is_too_large(request: HttpRequest) -> bool:
    """Whether somebody who is not signed in sends more than any form for strangers holds; told from the header."""
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not (length.isascii() and length.isdigit()) or int(length) <= MOST_ANONYMOUS_BYTES:
        return False
    return settings.SESSION_COOKIE_NAME not in request.COOKIES or not request.user.is_authenticated
