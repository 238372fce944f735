"""The handbook, to read on screen or on paper.

Open to everybody who is signed in, owners' people too: it tells of no firm, and who reads a report may want to know
what its figures mean and how they come about.
"""

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import localdate
from django.views.decorators.http import require_safe

from accounts.views.current_organisation import CurrentOrganisation, PersonRequest
from qa.selectors.days import firm_today
from reporting.presentation.handbook.book import USUAL_CURRENCY, Handbook, handbook, handbook_paper
from reporting.views.documents import paper_response


@login_required
@require_safe
def handbook_show(request: PersonRequest) -> HttpResponse:
    book = _book(request.current, for_paper=False)
    return render(request, "reporting/handbook.html", {"book": book})


@login_required
@require_safe
def handbook_download(request: PersonRequest) -> HttpResponse:
    firm = request.current.organisation
    book = _book(request.current, for_paper=True)
    made_on = firm_today(firm) if firm else localdate()
    return paper_response(handbook_paper(book, firm.name if firm else "", made_on), "handbook")


def _book(current: CurrentOrganisation, *, for_paper: bool) -> Handbook:
    currency = current.organisation.currency if current.organisation else USUAL_CURRENCY
    return handbook(current.units, currency, for_paper=for_paper)
