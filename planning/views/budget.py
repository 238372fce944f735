"""What a yearly sum buys over all surfaces."""

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from planning.forms.budget import BudgetForm
from planning.presentation.budget import budget_page, workbook
from planning.selectors.budget import budget_of
from qa.selectors.days import firm_today


@login_required
@require_safe
def budget_plan(request: PersonRequest) -> HttpResponse | FileResponse:
    organisation = require_role(request.current, Role.VIEWER)
    form = BudgetForm(request.GET, organisation=organisation)
    given = form.cleaned_data if form.is_valid() else {}
    found = budget_of(request.user, organisation, given.get("owner"), given.get("amount"))
    year = firm_today(organisation).year
    if found and request.GET.get("export") == "xlsx":
        return workbook(found, organisation.currency, year, request.current.units)
    page = budget_page(found, organisation.currency, year, request.current.units) if found else None
    return render(request, "planning/budget_plan.html", {"form": form, "page": page, "budget": found})
