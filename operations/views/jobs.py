"""The page of a firm's work in the background, for whoever administers it."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.presentation.tables import ROWS_A_PAGE
from core.views.form_views import do_or_say
from operations.calc.job_kinds import BY_KEY
from operations.forms.jobs import JobFilter
from operations.presentation.jobs import figures_of, job_lines
from operations.selectors.jobs import JobList, JobRow, rows_of
from operations.services.retries import try_again
from qa.selectors.days import firm_zone


@login_required
@require_safe
def job_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    form = JobFilter(request.GET)
    jobs = JobList(request.user, organisation, form.asked())
    listed: Any = jobs  # read a slice at a time, which is all that a paginator does
    page: Page[JobRow] = Paginator(listed, ROWS_A_PAGE).get_page(request.GET.get("page"))
    lines = job_lines(page.object_list, firm_zone(organisation), now())
    context = {"form": form, "page": page, "lines": lines, "figures": figures_of(jobs)}
    return render(request, "operations/job_list.html", context)


@login_required
@require_POST
def job_again(request: PersonRequest, job: str) -> HttpResponse:
    """Try a failed job again. job: the key of its kind and its id, as in "plan-0b5e..."."""
    key, pk = (*job.split("-", 1), "")[:2]
    kind = BY_KEY.get(key)
    if kind is None:
        raise Http404(f"There is no kind of work that is called {key!r}.")
    row = get_for_user(rows_of(kind).model, request.user, Role.ADMIN, pk=pk)

    def again() -> str:
        try_again(kind=kind, pk=row.pk)
        return _("It is tried again.")

    return do_or_say(request, again, "operations:job-list")
