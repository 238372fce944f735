"""The API as one thing: how bodies are read, what errors are answered with, which tokens are let in."""

import json
from collections.abc import Sequence
from itertools import chain
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from ninja import NinjaAPI
from ninja.errors import HttpError, ValidationErrorContext
from ninja.errors import ValidationError as ShapeError
from ninja.parser import Parser

from api.calc.problems import ProblemError, Wrong, pointer_of
from api.views import answers, bearer, reading_ahead, writing
from core.errors import NoRoomError, RainthroughError, UnusableRecordError
from core.views.errors import words_of

NOT_JSON = gettext_noop('The body is no JSON in UTF-8. Send one object, such as {"name": "Yard"}.')
NO_NUMBER = gettext_noop("%(word)s is no number that JSON has. Leave the value out, or send null.")
OTHER_TYPE = gettext_noop("The body came as %(type)r. Send it as application/json.")
NO_OBJECT = gettext_noop('The body is not an object. Send names and values, such as {"name": "Yard"}.')
NOT_WHOLE = gettext_noop("What was sent does not hold as it is. Nothing was stored.")
MISSING = gettext_noop("It is missing. Add it.")
NOT_KNOWN = gettext_noop("There is no such name here. Leave it out, or correct it.")
TOO_LARGE = gettext_noop("The body is larger than the server takes. Send one record at a time.")
NO_ROLE = gettext_noop("The role of the token's person does not reach so far.")
NOT_THERE = gettext_noop("There is no such row here that this token may read.")
TITLE = "Rainthrough"
ABOUT = (
    "Sites, surfaces, tests and what follows from them, for programs. A screening and record-keeping aid, not a "
    "design, certificate or warranty: local codes and the stormwater authority prevail."
)


class StrictJson(Parser):
    """Reads JSON of the one kind that other programs read too."""

    def parse_body(self, request: HttpRequest) -> Any:
        """The body. Raises ProblemError for another media type, for what is no JSON, and for NaN."""
        if request.content_type != "application/json":
            raise ProblemError(415, _(OTHER_TYPE) % {"type": (request.content_type or "")[:60]})
        try:
            sent = json.loads(request.body.decode(), parse_constant=_no_number)
        except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
            raise ProblemError(400, _(NOT_JSON)) from error
        if not isinstance(sent, dict):
            raise ProblemError(400, _(NO_OBJECT))
        return sent


def _no_number(word: str) -> Any:
    raise ProblemError(400, _(NO_NUMBER) % {"word": word})


class TellingApi(NinjaAPI):
    """Keeps what was sent with each place that does not hold, which the library drops."""

    def validation_error_from_error_contexts(
        self, error_contexts: list[ValidationErrorContext[Any]]
    ) -> ShapeError:
        error = super().validation_error_from_error_contexts(error_contexts)
        refused = [context.pydantic_validation_error.errors() for context in error_contexts]
        for told, one in zip(error.errors, chain.from_iterable(refused), strict=True):
            told["input"] = one["input"]
        return error


api = TellingApi(
    title=TITLE,
    version="1",
    description=ABOUT,
    docs_url=None,
    openapi_url=None,
    urls_namespace="api",
    parser=StrictJson(),
    auth=bearer.Bearer(),
)
for router in (
    writing.router,
    reading_ahead.router,
):  # the first is that of what is read, with PUT added to it
    api.add_router("", router)


@api.exception_handler(ProblemError)
def _problem(request: HttpRequest, error: ProblemError) -> HttpResponse:
    return answers.problem(request, error)


@api.exception_handler(HttpError)
def _http_error(request: HttpRequest, error: HttpError) -> HttpResponse:
    """What the library says of its own; a body that was refused while it was read comes wrapped in it."""
    read = error.__cause__
    known = read if isinstance(read, ProblemError) else ProblemError(error.status_code, str(error))
    return answers.problem(request, known)


@api.exception_handler(ShapeError)
def _shape_error(request: HttpRequest, error: ShapeError) -> HttpResponse:
    return answers.problem(request, ProblemError(422, _(NOT_WHOLE), [_wrong(one) for one in error.errors]))


def _wrong(error: dict[str, Any]) -> Wrong:
    """What is wrong with one place of a body, or with a parameter."""
    origin, *place = error["loc"]
    known = {"missing": _(MISSING), "extra_forbidden": _(NOT_KNOWN)}
    words = known.get(error["type"], f"{error['msg']}.")
    value = error.get("input") if error["type"] != "missing" else None
    if origin == "body":
        return Wrong(words, pointer_of(_within(place)), value=value)
    return Wrong(words, parameter=str(place[-1]) if place else str(origin), value=value)


def _within(place: Sequence[str | int]) -> Sequence[str | int]:
    return place[1:] if place and place[0] == "body" else place


@api.exception_handler(UnusableRecordError)
def _unusable(request: HttpRequest, error: UnusableRecordError) -> HttpResponse:
    return answers.problem(request, ProblemError(400, str(error)))


@api.exception_handler(RainthroughError)
def _not_now(request: HttpRequest, error: RainthroughError) -> HttpResponse:
    status = 507 if isinstance(error, NoRoomError) else 409
    return answers.problem(request, ProblemError(status, words_of(request, error)))


@api.exception_handler(RequestDataTooBig)
def _too_large(request: HttpRequest, error: RequestDataTooBig) -> HttpResponse:
    return answers.problem(request, ProblemError(413, _(TOO_LARGE)))


@api.exception_handler(PermissionDenied)
def _no_role(request: HttpRequest, error: PermissionDenied) -> HttpResponse:
    return answers.problem(request, ProblemError(403, str(error) or _(NO_ROLE)))


@api.exception_handler(Http404)
def _not_there(request: HttpRequest, error: Http404) -> HttpResponse:
    return answers.problem(request, ProblemError(404, _(NOT_THERE)))
