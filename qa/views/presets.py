"""Rules for rates: those of documents, and the firm's own."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from qa.calc.gradation import BANDS
from qa.calc.limits import CLOGGING_SHARE_SOURCE, PRESETS
from qa.forms.presets import OwnLimitForm
from qa.models import OwnLimit
from qa.selectors.rules import own_bands, own_limits
from qa.services import limits


@login_required
@require_safe
def rule_list(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    context = {
        "own_limits": own_limits(organisation),
        "presets": PRESETS.values(),
        "own_bands": own_bands(organisation),
        "bands": BANDS.values(),
        "clogging_source": CLOGGING_SHARE_SOURCE,
        "kept_build_ups": organisation.kept_build_ups.all(),
    }
    return render(request, "qa/rule_list.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def own_limit_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    return _own_limit_form(request, OwnLimit(organisation=organisation))


@login_required
@require_http_methods(["GET", "POST"])
def own_limit_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _own_limit_form(request, get_for_user(OwnLimit, request.user, Role.COORDINATOR, pk=pk))


def _own_limit_form(request: PersonRequest, own: OwnLimit) -> HttpResponse:
    form = OwnLimitForm(request.POST or None, instance=own, units=request.current.units)
    return save_or_show(
        request, form, lambda: limits.save_own_limit(own=own), "qa/own_limit_form.html", own=own
    )


@login_required
@require_POST
def own_limit_retire(request: PersonRequest, pk: UUID) -> HttpResponse:
    own = get_for_user(OwnLimit, request.user, Role.COORDINATOR, pk=pk)
    limits.retire_own_limit(own=own, retired="again" not in request.POST)
    said = (
        _("{rule} is no longer offered; surfaces that use it keep it.")
        if own.retired
        else _("{rule} is offered again.")
    )
    messages.success(request, said.format(rule=own))
    return redirect("qa:rule-list")
