"""Finding things by words, and what was opened lately."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.views.current_organisation import PersonRequest
from accounts.views.opened import opened_lately
from core.presentation.tables import page_of_rows
from reporting.calc.searching import Asked, FoundGroup, FoundLine, Kind, asked_for
from reporting.selectors.found_lines import found_line, found_lines
from reporting.selectors.searching import Reader, found, still_seen

SHOWN_OF_A_KIND = 6


@login_required
@require_safe
def search_show(request: PersonRequest) -> HttpResponse:
    asked, reader = asked_for(request.GET.get("q", "")), reader_of(request)
    kind = next((kind for kind in Kind if kind == request.GET.get("kind")), None)
    context: dict[str, Any] = {"asked": asked, "kind": kind}
    if not asked:
        context["opened"] = _opened(request)
    elif kind:
        page = page_of_rows(found(kind, asked, reader), request)
        context |= {"page": page, "lines": found_lines(kind, page)}
    else:
        context["groups"] = _groups(asked, reader)
    return render(request, "reporting/search.html", context)


@login_required
@require_safe
def search_opened(request: PersonRequest) -> HttpResponse:
    """What was opened lately, as a part of a page: a script shows it below the field."""
    return render(request, "reporting/_opened.html", {"lines": _opened(request)})


def reader_of(request: PersonRequest) -> Reader:
    """Who searches, and for which firm."""
    return Reader(request.user, request.current.organisation)


def _opened(request: PersonRequest) -> list[FoundLine]:
    marks = ((one[0], one[1]) for one in opened_lately(request))
    return [found_line(kind, row) for kind, row in still_seen(marks, reader_of(request))]


def _groups(asked: Asked, reader: Reader) -> list[FoundGroup]:
    """The best of each kind, the kind with the best find first."""
    groups: list[tuple[int, FoundGroup]] = []
    for kind in Kind:
        best = list(
            found(kind, asked, reader)[: SHOWN_OF_A_KIND + 1]
        )  # to count them all takes as long again
        if best:
            lines = found_lines(kind, best[:SHOWN_OF_A_KIND])
            groups.append((best[0].rank, FoundGroup(kind, lines, has_more=len(best) > SHOWN_OF_A_KIND)))
    return [group for _, group in sorted(groups, key=lambda one: one[0])]
