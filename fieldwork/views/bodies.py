"""What scripts send, read; and what they are answered when it cannot be."""

from collections.abc import Callable
from functools import wraps
from http import HTTPStatus
from typing import Any, Concatenate, ParamSpec, cast

from django.core.exceptions import BadRequest, RequestDataTooBig, SuspiciousOperation
from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.multipartparser import MultiPartParserError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.views.current_organisation import PersonRequest
from core.errors import UnusableRecordError
from core.views.json_answers import json_answer, signed_out
from fieldwork.calc.answers import Answer, Code, no
from fieldwork.calc.meta import UNREADABLE
from fieldwork.views.request_anew import Files

P = ParamSpec("P")
TOO_LARGE = gettext_noop("This is larger than the server takes. Send the photos by themselves, or smaller.")


def for_scripts(
    view: Callable[Concatenate[PersonRequest, P], Answer],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """A view that answers JSON whatever comes, also to who is signed out; 400 for what cannot be read."""

    @wraps(view)
    def answered(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_authenticated:
            return signed_out()
        answer = _answer(lambda: view(cast("PersonRequest", request), *args, **kwargs))
        return json_answer(answer.status, **answer.content)

    return cast("Callable[Concatenate[HttpRequest, P], HttpResponse]", answered)


def _answer(act: Callable[[], Answer]) -> Answer:
    try:
        return act()
    except RequestDataTooBig:
        return no(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, Code.TOO_LARGE, _(TOO_LARGE))
    except (MultiPartParserError, BadRequest, SuspiciousOperation) as error:
        return no(HTTPStatus.BAD_REQUEST, Code.UNREADABLE, _(UNREADABLE) % str(error).rstrip("."))
    except UnusableRecordError as error:
        return no(HTTPStatus.BAD_REQUEST, Code.UNREADABLE, str(error))


def parts_of(request: HttpRequest) -> tuple[QueryDict, Files]:
    """Fields and files of a body in parts, whatever the method; Django itself reads only those that are posted."""
    posted, files = request.parse_file_upload(request.META, request)
    vars(request).update(_post=posted, _files=files)  # closed with the request
    return posted, cast("Any", files)
