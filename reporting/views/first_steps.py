"""What a new firm does first."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import CurrentOrganisation, PersonRequest
from core.presentation.notices import Notice
from reporting.calc.first_steps import Progress, count_words
from reporting.presentation.first_steps import steps
from reporting.selectors.first_steps import has_forecast, progress_of


@login_required
@require_safe
def start_steps(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    return steps_page(request, progress_of(organisation))


def steps_page(request: PersonRequest, progress: Progress) -> HttpResponse:
    """The steps as they stand for whoever reads."""
    shown = steps(progress, request.current.role)
    context: dict[str, Any] = {"steps": shown, "counted": count_words(progress.done), "progress": progress}
    return render(request, "reporting/first_steps.html", context)


def steps_notice(current: CurrentOrganisation) -> Notice | None:
    """On the first page of a firm that has begun and has no forecast yet: what comes next."""
    if current.organisation is None or has_forecast(current.organisation):
        return None
    progress = progress_of(current.organisation, forecast=False)
    if progress.next is None:
        return None
    said = _("First steps, {done}. Next: {step}.").format(
        done=count_words(progress.done), step=progress.next.in_sentence
    )
    return Notice(said, _("All the steps"), reverse("reporting:start-steps"))
