"""Inspections: recording one in one sending, what it found, what was done about it."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.audience import Matter
from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest, audience_of
from core.models.rows import AuditedRecord
from core.views.form_views import correct_or_show, save_or_show, save_with_reason
from qa.calc.inspections import Answer, InspectionItem, items_for
from qa.forms.inspections import FindingForm, InspectionForm, RemedyForm
from qa.models import Inspection, InspectionFinding, Remedy, Surface
from qa.selectors.inspections import answered, findings_of, summary_of, well_result, with_findings
from qa.services import inspections

STORED_BEFORE = gettext_noop("This was stored already, when you sent it before. Here it is.")


def say_stored(request: PersonRequest, sent: AuditedRecord, stored: AuditedRecord, words: str) -> Model:
    """Tell that a sending was stored, or that an earlier one of it was; gives the row to go to."""
    if stored.pk == sent.pk:
        messages.success(request, words)
    else:
        messages.info(request, _(STORED_BEFORE))
    return stored


@login_required
@require_http_methods(["GET", "POST"])
def inspection_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    inspection = Inspection(surface=surface)
    form = InspectionForm(
        request.POST or None,
        request.FILES or None,
        instance=inspection,
        units=request.current.units,
        initial={"inspected_on": surface.site.today()},
    )
    return save_or_show(
        request, form, lambda: _stored(request, form), "qa/inspection_form.html", surface=surface
    )


def _stored(request: PersonRequest, form: InspectionForm) -> Model:
    sent = form.instance
    stored = inspections.record_inspection(inspection=sent, found=form.found, by=request.user)
    return say_stored(
        request, sent, stored, _("Inspection stored: {summary}.").format(summary=summary_of(stored))
    )


@login_required
@require_safe
def inspection_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    get_for_user(Inspection, request.user, Role.OWNER, pk=pk)
    inspection = with_findings(Inspection.objects.for_user(request.user)).get(pk=pk)
    surface = inspection.surface
    audience = audience_of(request.current, surface.organisation)
    context = {
        "inspection": inspection,
        "surface": surface,
        "findings": findings_of(inspection),
        "summary": summary_of(inspection),
        "in_order": answered(inspection, Answer.IN_ORDER),
        "not_seen": answered(inspection, Answer.NOT_SEEN),
        "well": well_result(inspection, surface),
        "items": items_for(surface.surface_type),
        "shows_note": audience.sees(Matter.NOTES),
    }
    return render(request, "qa/inspection_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def inspection_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    inspection = get_for_user(Inspection, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: inspections.void_inspection(inspection=inspection, by=request.user, reason=reason),
        "void_page.html",
        record=inspection,
    )


@login_required
@require_http_methods(["GET", "POST"])
def finding_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    inspection = get_for_user(Inspection, request.user, Role.TECHNICIAN, pk=pk)
    given = request.GET.get("item", "")
    item = InspectionItem(given) if given in InspectionItem.values else InspectionItem.PONDING
    finding = InspectionFinding(inspection=inspection)
    form = FindingForm(
        request.POST or None,
        request.FILES or None,
        instance=finding,
        item=item,
        units=request.current.units,
    )
    return save_or_show(
        request,
        form,
        lambda: say_stored(
            request, finding, inspections.add_finding(found=form.found, by=request.user), _("Finding stored.")
        ),
        "qa/finding_form.html",
        inspection=inspection,
        item=item,
    )


@login_required
@require_safe
def finding_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    finding = get_for_user(InspectionFinding, request.user, Role.OWNER, pk=pk)
    context = {
        "finding": finding,
        "surface": finding.surface,
        "remedies": finding.remedies.select_related("recorded_by", "state_by").prefetch_related(
            "attachments"
        ),
    }
    return render(request, "qa/finding_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def finding_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(InspectionFinding, request.user, Role.TECHNICIAN, pk=pk)
    new = InspectionFinding(inspection=old.inspection)
    form = FindingForm(
        request.POST or None,
        request.FILES or None,
        instance=new,
        item=InspectionItem(old.item),
        dated=True,
        units=request.current.units,
        initial={name: getattr(old, name) for name in FindingForm.Meta.fields},
    )
    return correct_or_show(
        request,
        form,
        lambda reason: inspections.correct_finding(
            old=old, new=new, by=request.user, reason=reason, sent=form.sent
        ),
        "qa/finding_correct.html",
        old=old,
    )


@login_required
@require_http_methods(["GET", "POST"])
def finding_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    finding = get_for_user(InspectionFinding, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: inspections.void_finding(finding=finding, by=request.user, reason=reason),
        "void_page.html",
        record=finding,
    )


@login_required
@require_http_methods(["GET", "POST"])
def remedy_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    finding = get_for_user(InspectionFinding, request.user, Role.TECHNICIAN, pk=pk)
    remedy = Remedy(finding=finding)
    initial = {"done_on": finding.surface.site.today(), "done_by": str(request.user)}
    form = RemedyForm(request.POST or None, request.FILES or None, instance=remedy, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: say_stored(
            request,
            remedy,
            inspections.record_remedy(remedy=remedy, by=request.user, sent=form.sent),
            _("Stored: the finding is corrected."),
        ),
        "qa/remedy_form.html",
        finding=finding,
    )


@login_required
@require_http_methods(["GET", "POST"])
def remedy_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    remedy = get_for_user(Remedy, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: inspections.void_remedy(remedy=remedy, by=request.user, reason=reason),
        "void_page.html",
        record=remedy,
    )
