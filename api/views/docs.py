"""The description of the API: for programs, and as a page that needs no script."""

from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.presentation.document import DocumentPage, described, page_of
from api.views.routes import api


@cache
def document() -> dict[str, Any]:
    """The description in OpenAPI 3.1; it does not change while the server runs."""
    return described(api.get_openapi_schema(path_prefix="/api"))


@cache
def document_page() -> DocumentPage:
    """The same as the page shows it."""
    return page_of(document())


@require_safe
def schema(request: HttpRequest) -> HttpResponse:
    """Open to everybody: it says what there is, and nothing of anybody."""
    return JsonResponse(document())


@require_safe
def docs(request: HttpRequest) -> HttpResponse:
    return render(request, "api/docs.html", {"page": document_page()})
