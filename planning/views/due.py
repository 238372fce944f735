"""All that is due because it was built or agreed, all that inspections found, and all that visits left to do."""

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from planning.selectors.due_work import due_work
from planning.selectors.todo import left_over, unplanned_findings

ROWS_A_PAGE = 50


@login_required
@require_safe
def due_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    built = Paginator(due_work(request.user, organisation, now()), ROWS_A_PAGE)
    findings = Paginator(unplanned_findings(request.user, organisation), ROWS_A_PAGE)
    left = Paginator(left_over(request.user, organisation), ROWS_A_PAGE)
    context = {
        "left": left.get_page(request.GET.get("left")),
        "built": built.get_page(request.GET.get("page")),
        "findings": findings.get_page(request.GET.get("found")),
    }
    return render(request, "planning/due_list.html", context)
