"""The construction record: one check at a time, its corrections, waivers and own checks."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import CurrentOrganisation, PersonRequest
from core.calc.paving import Traffic
from core.views.form_views import Onward, correct_or_show, save_or_show, save_with_reason
from qa.calc.check_model import HeaviestUse
from qa.calc.check_progress import Outcome
from qa.forms.construction import (
    CriterionForm,
    EntryForm,
    LeaveOutForm,
    OpenRecordForm,
    OwnCheckForm,
    WorkForm,
)
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord, CorrectiveWork, Surface
from qa.selectors.construction import CheckState, RecordState, record_state
from qa.services import assembly, construction


@login_required
@require_safe
def construction_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    record = ConstructionRecord.objects.for_user(request.user).filter(surface=surface).first()
    state = record_state(record, request.current.units) if record else None
    context = {"surface": surface, "state": state} | (_stages_context(state) if state else {})
    return render(request, "qa/construction_detail.html", context)


def _stages_context(state: RecordState) -> dict[str, object]:
    """The next check, and the stages, opened where work failed and where that check is."""
    following = state.next_after()
    here = following.row.stage if following else None
    stages = [(stage, stage.progress.failed > 0 or stage.stage == here) for stage in state.stages]
    return {"next": following, "stages": stages}


@login_required
@require_http_methods(["GET", "POST"])
def construction_open(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    record = ConstructionRecord(surface=surface)
    foot = surface.traffic == Traffic.FOOT
    use = HeaviestUse.FOOT if foot else HeaviestUse.VEHICLE
    initial = {
        "parts": lambda: assembly.usual_parts(surface),
        "heaviest_use": use,
        "bound_bed": lambda: assembly.has_bound_bed(surface),
    }
    form = OpenRecordForm(request.POST or None, instance=record, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: assembly.open_record(
            record=record,
            parts=form.cleaned_data["parts"],
            by=request.user,
            units=request.current.units,
        ),
        "qa/construction_open.html",
        surface=surface,
    )


@login_required
@require_safe
def check_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.OWNER, pk=pk)
    state, one = state_of(check, request.current.units)
    changes = list(check.history.select_related("history_user"))
    context = _check_context(state, one) | _offered(request.current, state, one)
    # the first of them is the check as it was laid out
    context |= {"changes": changes if len(changes) > 1 else [], "zone": state.record.surface.site.time_zone}
    return render(request, "qa/check_detail.html", context)


def _offered(current: CurrentOrganisation, state: RecordState, one: CheckState) -> dict[str, object]:
    """What somebody may do about a check, and which one they may go on to."""
    following = state.next_after(one.row) if current.can_record else None
    return {
        "own_firm": current.acts_for(state.record.surface.organisation),
        "may_change": current.can_plan and not one.automatic,
        "may_go_on": current.can_record and not one.settled,
        "may_leave_out": current.can_plan or not (one.row.hold_point or one.automatic),
        "go_on_to": following if following and following.row.pk != one.row.pk else None,
    }


@login_required
@require_http_methods(["GET", "POST"])
def check_record(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.TECHNICIAN, pk=pk)
    return _record(request, check, None)


@login_required
@require_http_methods(["GET", "POST"])
def entry_recheck(request: PersonRequest, pk: UUID) -> HttpResponse:
    failed = get_for_user(CheckEntry, request.user, Role.TECHNICIAN, pk=pk)
    return _record(request, failed.construction_check, failed)


def _record(request: PersonRequest, check: ConstructionCheck, failed: CheckEntry | None) -> HttpResponse:
    entry = CheckEntry(construction_check=check, rechecks=failed)
    initial = {"done_on": lambda: check.record.surface.site.today(), "where": failed.where if failed else ""}
    form = EntryForm(
        request.POST or None,
        request.FILES or None,
        instance=entry,
        check=check,
        units=request.current.units,
        initial=initial,
    )
    return save_or_show(
        request,
        form,
        lambda: _store(request, entry, form),
        "qa/check_form.html",
        page=lambda: _check_context(*state_of(check, request.current.units)),
        failed=failed,
    )


def _store(request: PersonRequest, entry: CheckEntry, form: EntryForm) -> Onward:
    """Store the finding, say what came out, and offer the next check."""
    stored = construction.record_entry(entry=entry, answer=form.answer, by=request.user, sent=form.sent)
    asked = stored.construction_check.as_read(request.current.units).asked
    if stored.outcome == Outcome.FAILED:
        messages.warning(request, _("Not as asked: {asked}").format(asked=asked))
        return Onward(stored, stored)
    said = (
        _("Kept, and judged once the designed value is entered: {asked}")
        if stored.outcome == Outcome.UNJUDGED
        else _("Passed: {asked}")
    )
    messages.success(request, said.format(asked=asked))
    return Onward(stored, next_page(stored.construction_check))


def next_page(check: ConstructionCheck) -> str:
    """Where the person goes on: the same check while readings are missing, else the next open one."""
    state, one = state_of(check)
    following = one if one.wants_more else state.next_after(check)
    if following is None or following.automatic or following.to_put_right:
        return state.record.get_absolute_url()
    return reverse("qa:check-record", args=[following.row.pk])


def state_of(check: ConstructionCheck, units: str = "si") -> tuple[RecordState, CheckState]:
    """The record's state, and this check's in it."""
    state = record_state(check.record, units)
    return state, next(one for one in state.checks if one.row.pk == check.pk)


def _check_context(state: RecordState, one: CheckState) -> dict[str, object]:
    stage = next(s for s in state.stages if s.stage == one.row.stage)
    number = [c.row.pk for c in stage.checks].index(one.row.pk) + 1
    return {
        "surface": state.record.surface,
        "record": state.record,
        "state": state,
        "one": one,
        "check": one.row,
        "stage": stage,
        "number": number,
        "next": state.next_after(one.row),
    }


@login_required
@require_http_methods(["GET", "POST"])
def check_waive(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.COORDINATOR, pk=pk)
    return _leave_out(request, check, Outcome.WAIVED)


@login_required
@require_http_methods(["GET", "POST"])
def check_not_needed(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.TECHNICIAN, pk=pk)
    return _leave_out(request, check, Outcome.NOT_NEEDED)


def _leave_out(request: PersonRequest, check: ConstructionCheck, outcome: Outcome) -> HttpResponse:
    get_for_user(ConstructionCheck, request.user, construction.role_to_leave_out(check, outcome), pk=check.pk)
    entry = CheckEntry(construction_check=check, outcome=outcome)
    initial = {"done_on": check.record.surface.site.today()}
    form = LeaveOutForm(request.POST or None, instance=entry, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: construction.leave_out(entry=entry, by=request.user),
        "qa/check_leave_out.html",
        check=check,
        waiving=outcome == Outcome.WAIVED,
    )


@login_required
@require_http_methods(["GET", "POST"])
def check_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    check = get_for_user(ConstructionCheck, request.user, Role.COORDINATOR, pk=pk)
    form = CriterionForm(request.POST or None, instance=check, units=request.current.units)
    return save_or_show(
        request,
        form,
        lambda: construction.change_criterion(
            check=check, by=request.user, reason=form.cleaned_data["reason"]
        ),
        "qa/check_edit.html",
        check=check,
    )


@login_required
@require_http_methods(["GET", "POST"])
def check_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    record = get_for_user(ConstructionRecord, request.user, Role.TECHNICIAN, surface=pk)
    check = ConstructionCheck(record=record)
    form = OwnCheckForm(
        request.POST or None,
        instance=check,
        units=request.current.units,
        initial={"stage": request.GET.get("stage")},
    )
    return save_or_show(
        request,
        form,
        lambda: construction.add_check(check=check, by=request.user),
        "qa/check_create.html",
        surface=record.surface,
        record=record,
    )


@login_required
@require_http_methods(["GET", "POST"])
def entry_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(CheckEntry, request.user, Role.TECHNICIAN, pk=pk)
    check = old.construction_check
    new = CheckEntry(construction_check=check)
    form = EntryForm(
        request.POST or None,
        request.FILES or None,
        instance=new,
        check=check,
        units=request.current.units,
        initial=_as_found(old),
    )
    return correct_or_show(
        request,
        form,
        lambda reason: construction.correct_entry(
            old=old, new=new, answer=form.answer, by=request.user, reason=reason, sent=form.sent
        ),
        "qa/entry_correct.html",
        old=old,
        check=check,
    )


def _as_found(old: CheckEntry) -> dict[str, object]:
    """What a correction starts with."""
    is_number = old.construction_check.as_check.is_number
    found = old.reading if is_number else "yes" if old.outcome == Outcome.PASSED else "no"
    return {
        "reading": found,
        "units": old.units,
        "where": old.where,
        "done_on": old.done_on,
        "note": old.note,
    }


@login_required
@require_http_methods(["GET", "POST"])
def entry_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    entry = get_for_user(CheckEntry, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: construction.void_entry(entry=entry, by=request.user, reason=reason),
        "void_page.html",
        record=entry,
    )


@login_required
@require_http_methods(["GET", "POST"])
def work_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    entry = get_for_user(CheckEntry, request.user, Role.TECHNICIAN, pk=pk)
    check = entry.construction_check
    work = CorrectiveWork(entry=entry)
    initial = {"done_on": check.record.surface.site.today()}
    form = WorkForm(request.POST or None, request.FILES or None, instance=work, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: construction.record_work(work=work, by=request.user, sent=form.sent),
        "qa/work_form.html",
        entry=entry,
        check=check,
    )


@login_required
@require_http_methods(["GET", "POST"])
def work_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    work = get_for_user(CorrectiveWork, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: construction.set_work_aside(work=work, by=request.user, reason=reason),
        "void_page.html",
        record=work,
    )
