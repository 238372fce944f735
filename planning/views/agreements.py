"""Agreements with owners."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import save_or_show
from planning.forms.agreements import AgreementForm
from planning.models import Agreement
from planning.services import agreements
from qa.models import Site


@login_required
@require_http_methods(["GET", "POST"])
def agreement_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    agreement = Agreement.objects.for_user(request.user).filter(site=site).first() or Agreement(site=site)
    start = {"since": site.today()} if agreement._state.adding else {}
    form = AgreementForm(request.POST or None, instance=agreement, initial=start)
    return save_or_show(
        request,
        form,
        lambda: agreements.save_agreement(agreement=agreement).site,
        "planning/agreement_form.html",
        site=site,
    )
