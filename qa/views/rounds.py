"""Recording test rounds and tests; correcting them and setting them aside."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import get_or_deny
from accounts.webforms import save_or_show
from qa.forms.rounds import ReasonForm, RoundForm, TestForm, nominal_readings
from qa.models import InfiltrationTest, Surface, TestRound
from qa.selectors import round_result
from qa.services import rounds
from qa.surface_limits import limit_known


@login_required
@require_http_methods(["GET", "POST"])
def round_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_or_deny(Surface, request.user, Role.TECHNICIAN, pk=pk)
    round_ = TestRound(surface=surface)
    initial = {"tested_on": surface.site.today(), "purpose": request.GET.get("purpose", "routine")}
    form = RoundForm(request.POST or None, instance=round_, initial=initial, units=request.acting.units)
    return save_or_show(
        request,
        form,
        lambda: rounds.record_round(round_=round_, by=request.user),
        "qa/round_form.html",
        surface=surface,
    )


@login_required
@require_GET
def round_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_or_deny(TestRound, request.user, Role.OWNER, pk=pk)
    result = round_result(round_, request.acting.units)
    context = {
        "round": round_,
        "surface": round_.surface,
        "result": result,
        "limit": limit_known(round_.surface, request.acting.units),
    }
    return render(request, "qa/round_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def round_amend(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_or_deny(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    form = RoundForm(request.POST or None, instance=round_, units=request.acting.units)
    reason = ReasonForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: rounds.amend_round(round_=round_, reason=request.POST.get("reason", "")),
        "qa/round_amend.html",
        round=round_,
        reason_form=reason,
    )


@login_required
@require_http_methods(["GET", "POST"])
def round_set_aside(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_or_deny(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    form = ReasonForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: rounds.set_round_aside(round_=round_, by=request.user, **form.cleaned_data),
        "qa/set_aside.html",
        record=round_,
    )


@login_required
@require_http_methods(["GET", "POST"])
def test_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_or_deny(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    test = InfiltrationTest(round=round_)
    initial = nominal_readings(request.acting.units) | request.GET.dict()
    form = TestForm(request.POST or None, instance=test, initial=initial)
    return save_or_show(
        request,
        form,
        lambda: record(request, test),
        "qa/test_form.html",
        round=round_,
        surface=round_.surface,
    )


def record(request: PersonRequest, test: InfiltrationTest) -> TestRound:
    """Store the test, say what came out, and go back to the round for the next spot."""
    rounds.record_test(test=test, by=request.user)
    said = f"Test at {test.place} stored."
    if test.deviations:
        said += f" {len(test.deviations)} departure(s) from the method; see below."
    messages.success(request, said)
    return test.round


@login_required
@require_GET
def test_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    test = get_or_deny(InfiltrationTest, request.user, Role.OWNER, pk=pk)
    return render(request, "qa/test_detail.html", {"test": test, "round": test.round})


@login_required
@require_http_methods(["GET", "POST"])
def test_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_or_deny(InfiltrationTest, request.user, Role.TECHNICIAN, pk=pk)
    new = InfiltrationTest(round=old.round)
    initial = {name: getattr(old, name) for name in TestForm.Meta.fields}
    form = TestForm(request.POST or None, instance=new, initial=initial)
    reason = request.POST.get("reason", "")
    return save_or_show(
        request,
        form,
        lambda: rounds.correct_test(old=old, new=new, by=request.user, reason=reason),
        "qa/test_correct.html",
        old=old,
        reason_form=ReasonForm(request.POST or None),
    )


@login_required
@require_http_methods(["GET", "POST"])
def test_set_aside(request: PersonRequest, pk: UUID) -> HttpResponse:
    test = get_or_deny(InfiltrationTest, request.user, Role.TECHNICIAN, pk=pk)
    form = ReasonForm(request.POST or None)
    return save_or_show(
        request,
        form,
        lambda: rounds.set_test_aside(test=test, by=request.user, **form.cleaned_data),
        "qa/set_aside.html",
        record=test,
    )
