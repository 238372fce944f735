"""Answers of the API: a row or a page of rows with its mark, or a problem."""

import json
from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from urllib.parse import urlencode

from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience
from api.calc.etags import etag_of, names
from api.calc.paging import Cursor
from api.calc.problems import MEDIA_TYPE, Problem, ProblemError, Wrong
from api.forms.asking import PageQuery
from api.presentation.base import Shown, content_of
from api.selectors.pages import Window, page_of
from api.views.bearer import caller_of

M = TypeVar("M", bound=Model)
Show = Callable[[Any, Audience], Shown]
NOT_HERE = gettext_noop(
    "There is no row %(key)s here that this token may read. Check the id, and what the token is for."
)
UNKNOWN_PARAMETER = gettext_noop("There is no parameter “%(name)s” here. Known are: %(known)s.")


def answered(request: HttpRequest, shown: Shown, *, status: int = 200, **headers: str) -> HttpResponse:
    """One row with its mark; 304 without it, where the caller has it as it is."""
    content = content_of(shown)
    etag = etag_of(content)
    fields = {"ETag": etag, **{name.replace("_", "-"): value for name, value in headers.items()}}
    known = request.headers.get("If-None-Match", "")
    if request.method == "GET" and known and names(known, etag, weakly=True):
        return HttpResponse(status=304, headers=fields)
    return HttpResponse(content, status=status, content_type="application/json", headers=fields)


def one(request: HttpRequest, rows: QuerySet[M], key: Any, show: Show) -> HttpResponse:
    """The row of an id. Raises ProblemError, 404, where the token does not reach one."""
    return answered(request, show(found(rows, key), caller_of(request).audience))


def found(rows: QuerySet[M], key: Any) -> M:
    """The row of an id. Raises ProblemError, 404, where there is none among these."""
    row = rows.filter(pk=key).first()
    if row is None:
        raise ProblemError(404, _(NOT_HERE) % {"key": key})
    return row


def listed(
    request: HttpRequest, rows: QuerySet[M], query: PageQuery, show: Show, paths: Mapping[str, str]
) -> HttpResponse:
    """A page of rows, with the address of the next one in its body and in the field Link (RFC 8288)."""
    _refuse_unknown_parameters(request, query)
    after = Cursor.read(query.cursor) if query.cursor else None
    page = page_of(rows, Window(query.page_size, after, query.narrowed()), paths)
    audience = caller_of(request).audience
    following = _address(request, cursor=str(page.after)) if page.after else None
    links = [f'<{_address(request)}>; rel="first"', *([f'<{following}>; rel="next"'] if following else [])]
    items = [show(row, audience).model_dump(mode="json", by_alias=True) for row in page.rows]
    content = json.dumps({"items": items, "next": following}, allow_nan=False)
    return HttpResponse(content, content_type="application/json", headers={"Link": ", ".join(links)})


def _address(request: HttpRequest, **changed: str) -> str:
    """The address of this list with the same filters, at another place of it."""
    asked = {name: value for name, value in request.GET.items() if name != "cursor"} | changed
    return request.build_absolute_uri(f"{request.path}?{urlencode(asked)}" if asked else request.path)


def _refuse_unknown_parameters(request: HttpRequest, query: PageQuery) -> None:
    """A filter that is misspelt would answer with everything."""
    known = ", ".join(sorted(type(query).model_fields))
    for name in request.GET:
        if name not in type(query).model_fields:
            words = _(UNKNOWN_PARAMETER) % {"name": name[:60], "known": known}
            raise ProblemError(422, words, [Wrong(words, parameter=name[:60])])


def problem(request: HttpRequest, error: ProblemError) -> HttpResponse:
    """A problem as RFC 9457 has it."""
    told = Problem(error.status, error.detail, request.path, reverse("api:docs"), error.errors)
    content = json.dumps(told.as_json(), allow_nan=False)
    return HttpResponse(content, status=error.status, content_type=MEDIA_TYPE, headers=error.headers)
