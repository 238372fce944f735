"""Plans of work: asked for, looked at, moved about, accepted."""

from collections.abc import Sequence
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import QuerySet
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import get_for_user, require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.format import counted, day, labelled
from core.presentation.tables import ordered_and_paged, table_as_file
from core.views.form_views import asked_place, do_or_say, save_or_show
from planning.calc.plan_payload import PlannedDay, WorkPlanResult
from planning.forms.work_plans import AcceptForm, BoardForm, MoveForm, WorkPlanForm
from planning.models import Crew, WorkPlan
from planning.presentation.crew_days import board_map
from planning.presentation.tables import WorkPlanTable
from planning.presentation.work_plans import Board, board_of
from planning.selectors.quotes import waiting_for_approval
from planning.services import work_plans
from qa.selectors.days import firm_today


@login_required
@require_safe
def plan_list(request: PersonRequest) -> HttpResponseBase:
    organisation = require_role(request.current, Role.COORDINATOR)
    rows = WorkPlan.objects.for_user(request.user, Role.COORDINATOR).of_organisation(organisation)
    table = WorkPlanTable(rows.defer("result_json").select_related("made_by"))
    ordered_and_paged(table, request)
    if sent := table_as_file(table, request, "plans-of-work"):
        return sent
    return render(request, "planning/plan_list.html", {"table": table})


@login_required
@require_http_methods(["GET", "POST"])
def plan_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    plan = WorkPlan(organisation=organisation, made_by=request.user)
    initial = {"first_on": firm_today(organisation)}
    form = WorkPlanForm(request.POST or None, instance=plan, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: work_plans.request_plan(plan=plan),
        "planning/plan_form.html",
        page=lambda: {"crews": _crews(request, organisation).filter(retired=False)},
    )


@login_required
@require_safe
def plan_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    plan = get_for_user(WorkPlan, request.user, Role.COORDINATOR, pk=pk)
    result = plan.result
    crews = list(_crews(request, plan.organisation))
    board = _board(request, plan, result, crews) if result and not plan.is_unfinished else None
    shown = (
        board_map(result, crews, request.GET.get("day", ""), request.current.units)
        if result and board
        else None
    )
    return render(request, "planning/plan_detail.html", {"plan": plan, "board": board, "board_map": shown})


def _board(request: PersonRequest, plan: WorkPlan, result: WorkPlanResult, crews: Sequence[Crew]) -> Board:
    keys = [stop.key for planned in result.days for stop in planned.stops]
    waiting = waiting_for_approval(plan.organisation, keys)
    asked = BoardForm(request.GET).asked()
    return board_of(plan, result, crews, asked, waiting)


def _crews(request: PersonRequest, organisation: Organisation) -> QuerySet[Crew]:
    return Crew.objects.for_user(request.user, Role.VIEWER).of_organisation(organisation)


@login_required
@require_safe
def plan_progress(request: PersonRequest, pk: UUID) -> HttpResponse:
    """How far a plan is, for the page to fetch anew while it is made."""
    plan = get_for_user(WorkPlan, request.user, Role.COORDINATOR, pk=pk)
    return render(request, "planning/_plan_progress.html", {"plan": plan})


@login_required
@require_POST
def plan_stop(request: PersonRequest, pk: UUID) -> HttpResponse:
    plan = get_for_user(WorkPlan, request.user, Role.COORDINATOR, pk=pk)
    work_plans.ask_to_stop(plan=plan)
    return redirect(plan)


@login_required
@require_POST
def plan_accept(request: PersonRequest, pk: UUID) -> HttpResponse:
    plan = get_for_user(WorkPlan, request.user, Role.COORDINATOR, pk=pk)
    result, place = plan.result, asked_place(request) or plan
    if result is None:
        return do_or_say(request, lambda: _accepted(plan, [], request), place)
    form = AcceptForm(request.POST, result=result)
    if not form.is_valid():
        messages.error(request, " ".join(map(str, form.errors["days"])))
        return redirect(place)
    return do_or_say(request, lambda: _accepted(plan, form.chosen(), request), place)


def _accepted(plan: WorkPlan, days: list[PlannedDay], request: PersonRequest) -> str:
    count = work_plans.accept_days(plan=plan, days=days, by=request.user)
    rest = len(plan.result.with_rest(days)) - len(days) if plan.result else 0
    # Translators: days and tasks are numbers of them, as "1 day" and "3 tasks".
    said = _("{days} accepted: {tasks} put on visits.")
    said = said.format(days=counted(len(days) + rest, "day"), tasks=counted(count, "task"))
    if not rest:
        return said
    more = ngettext(
        "Of these {count} day came with work that takes several.",
        "Of these {count} days came with work that takes several.",
        rest,
    )
    return f"{said} {more.format(count=rest)}"


@login_required
@require_POST
def plan_move(request: PersonRequest, pk: UUID) -> HttpResponse:
    plan = get_for_user(WorkPlan, request.user, Role.COORDINATOR, pk=pk)
    form, place = MoveForm(request.POST, plan=plan), asked_place(request) or plan
    if not form.is_valid():
        said = [
            labelled(form.fields[name].label or name, error)
            for name, found in form.errors.items()
            for error in found
        ]
        messages.error(request, " ".join(said))
        return redirect(place)
    return do_or_say(request, lambda: _moved(plan, form), place)


def _moved(plan: WorkPlan, form: MoveForm) -> str:
    sent = form.cleaned_data
    work_plans.move_work(plan=plan, key=sent["key"], crew=sent["crew"], on=sent["on"])
    said = _("Moved to {crew} on {day}. Both days are timed anew.")
    return said.format(crew=sent["crew"], day=day(sent["on"]))
