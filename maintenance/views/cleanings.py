"""Recording cleanings; correcting them and setting them aside. Terms of the methods."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.format import day
from core.presentation.files import seen_by_firm
from core.views.form_views import Onward, correct_or_show, save_or_show, save_with_reason
from maintenance.calc.suitability import CARE
from maintenance.forms.cleanings import CleaningForm, TermsFormSet, TestVisitForm
from maintenance.models import CleaningEvent, MethodTerms
from maintenance.presentation.cleanings import price_effect_words
from maintenance.selectors.price_effect import effect_on_advice
from maintenance.selectors.prices import price_list_on
from maintenance.services import cleanings
from qa.models import Surface
from qa.selectors.days import firm_today


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    event = CleaningEvent(surface=surface)
    initial = {"cleaned_on": surface.site.today(), "method": request.GET.get("method")}
    form = CleaningForm(request.POST or None, instance=event, initial=initial, units=request.current.units)
    return save_or_show(
        request,
        form,
        lambda: _recorded(request, event),
        "maintenance/cleaning_form.html",
        surface=surface,
        care=CARE,
    )


def _recorded(request: PersonRequest, event: CleaningEvent) -> Onward:
    """Store the cleaning and say so: the surface's page alone does not show that it arrived."""
    stored = cleanings.record_cleaning(event=event, by=request.user)
    said = _("{method} of {day} stored.")
    messages.success(request, said.format(method=stored.get_method_display(), day=day(stored.cleaned_on)))
    return Onward(stored, stored.surface)


@login_required
@require_safe
def cleaning_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    event = get_for_user(CleaningEvent, request.user, Role.OWNER, pk=pk)
    own_firm = request.current.acts_for(event.surface.organisation)
    context = {
        "event": event,
        "surface": event.surface,
        "own_firm": own_firm,
        "files": seen_by_firm(event.attachments.all(), own_firm),
    }
    return render(request, "maintenance/cleaning_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(CleaningEvent, request.user, Role.TECHNICIAN, pk=pk)
    new = CleaningEvent(surface=old.surface)
    initial = {name: getattr(old, name) for name in CleaningForm.Meta.fields}
    form = CleaningForm(request.POST or None, instance=new, initial=initial, units=request.current.units)
    return correct_or_show(
        request,
        form,
        lambda reason: cleanings.correct_cleaning(old=old, new=new, by=request.user, reason=reason),
        "maintenance/cleaning_correct.html",
        old=old,
    )


@login_required
@require_http_methods(["GET", "POST"])
def cleaning_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    event = get_for_user(CleaningEvent, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: cleanings.void_cleaning(event=event, by=request.user, reason=reason),
        "void_page.html",
        record=event,
    )


@login_required
@require_http_methods(["GET", "POST"])
def method_terms(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    cleanings.terms_of(organisation)
    rows = MethodTerms.objects.for_user(request.user, Role.COORDINATOR).of_organisation(organisation)
    listed = price_list_on(organisation, firm_today(organisation))
    told = {"prices": listed, "units": request.current.units}
    formset = TermsFormSet(request.POST or None, queryset=rows, prefix="terms", form_kwargs=told)
    visit = TestVisitForm(request.POST or None, instance=organisation, prefix="visit", prices=listed)
    # Both are asked, so that the faults of both are shown at once.
    if all([formset.is_valid(), visit.is_valid()]):
        try:
            changed = [form.save(commit=False) for form in formset.forms]
            cleanings.save_terms(rows=changed, organisation=organisation)
            messages.success(request, price_effect_words(effect_on_advice(organisation)))
            return redirect("accounts:firm")
        except ValidationError as error:
            messages.error(request, " ".join(error.messages))
    context = {"formset": formset, "visit": visit, "organisation": organisation, "listed": listed}
    return render(request, "maintenance/method_terms.html", context)
