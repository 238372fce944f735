"""A site's plan for winter and spills, and the trainings of its owner's people."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.views.form_views import correct_or_show, save_or_show, save_with_reason
from maintenance.calc.site_plans import PREVAILS
from maintenance.forms.handing_over import SitePlanForm, TrainingForm, typed
from maintenance.models import SitePlan, Training
from maintenance.services import handing_over
from qa.models import Site


@login_required
@require_http_methods(["GET", "POST"])
def site_plan_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.COORDINATOR, pk=pk)
    plan = SitePlan.objects.for_user(request.user).filter(site=site).first() or SitePlan(site=site)
    form = SitePlanForm(request.POST or None, instance=plan)
    return save_or_show(
        request,
        form,
        lambda: handing_over.save_site_plan(plan=plan, fields=SitePlanForm.Meta.fields),
        "maintenance/site_plan_form.html",
        site=site,
        prevails=_(PREVAILS),
    )


@login_required
@require_http_methods(["GET", "POST"])
def training_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    site = get_for_user(Site, request.user, Role.TECHNICIAN, pk=pk)
    training = Training(site=site)
    initial = {"trained_on": site.today(), "trained_by": str(request.user)[:120]}
    form = TrainingForm(request.POST or None, instance=training, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: handing_over.record_training(training=training, by=request.user),
        "maintenance/training_form.html",
        site=site,
    )


@login_required
@require_safe
def training_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    training = get_for_user(Training, request.user, Role.OWNER, pk=pk)
    context = {
        "training": training,
        "site": training.site,
        "own_firm": request.current.acts_for(training.site.organisation),
    }
    return render(request, "maintenance/training_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def training_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(Training, request.user, Role.TECHNICIAN, pk=pk)
    new = Training(site=old.site)
    initial = {"trained_on": old.trained_on, "trained_by": old.trained_by} | typed(old.facts)
    form = TrainingForm(request.POST or None, instance=new, initial=initial)
    return correct_or_show(
        request,
        form,
        lambda reason: handing_over.correct_training(old=old, new=new, by=request.user, reason=reason),
        "maintenance/training_correct.html",
        old=old,
    )


@login_required
@require_http_methods(["GET", "POST"])
def training_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    training = get_for_user(Training, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: handing_over.void_training(training=training, by=request.user, reason=reason),
        "void_page.html",
        record=training,
    )
