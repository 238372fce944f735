"""Answers for scripts: JSON in place of a page, and never a redirect, which a script would take for an answer."""

from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, JsonResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

SIGN_IN = gettext_noop("You are signed out. Sign in again; what waits on this phone stays there.")


def json_answer(status: int, **content: Any) -> JsonResponse:
    """Plain data that no cache keeps."""
    return JsonResponse(content, status=status, headers={"Cache-Control": "no-store"})


def signed_out() -> JsonResponse:
    """The answer to a script of somebody who is not signed in."""
    return json_answer(HTTPStatus.UNAUTHORIZED, code="signed_out", text=_(SIGN_IN))


def is_from_script(request: HttpRequest) -> bool:
    """Whether a script asks that reads JSON: no form of a page is sent by PUT, nor asks for JSON alone."""
    return request.method == "PUT" or not request.accepts("text/html")
