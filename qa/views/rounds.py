"""Recording test rounds and tests; correcting them and setting them aside."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from core.calc.format import counted
from core.calc.paving import TestMethod
from core.presentation.files import seen_by_firm
from core.views.form_views import Onward, correct_or_show, save_or_show, save_with_reason
from qa.calc.methods import facts_on
from qa.calc.rounds import Purpose
from qa.forms.field_tests import FieldTestForm, form_for, values_of
from qa.forms.rounds import KEEP, RoundForm, TestForm, offer_to_keep, refuse_loss, refuse_surprise
from qa.models import InfiltrationTest, Surface, TestRound
from qa.presentation.readings_table import lines_of
from qa.presentation.result_figures import figures_of
from qa.presentation.worked import worked_ring
from qa.selectors.rounds import spots_tested
from qa.selectors.spot_photos import photos_before
from qa.services import rounds
from qa.views.round_pages import (
    asked_factor,
    asked_method,
    guide_page,
    round_page,
    start_values,
    test_template,
)

KEEP_LABEL = gettext_noop("Save it all the same, as it is")


@login_required
@require_http_methods(["GET", "POST"])
def round_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.TECHNICIAN, pk=pk)
    round_ = TestRound(surface=surface)
    usual = Purpose.ACCEPTANCE if surface.opens_later else Purpose.ROUTINE
    initial = {"tested_on": surface.site.today(), "purpose": request.GET.get("purpose", usual)}
    form = RoundForm(request.POST or None, instance=round_, initial=initial, units=request.current.units)
    return save_or_show(
        request,
        form,
        lambda: rounds.record_round(round_=round_, by=request.user),
        "qa/round_form.html",
        surface=surface,
    )


@login_required
@require_safe
def round_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.OWNER, pk=pk)
    factor = asked_factor(request.GET.get("factor", ""))
    context = round_page(round_, request.current, factor)
    return render(request, "qa/round_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def round_amend(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    form = RoundForm(request.POST or None, instance=round_, units=request.current.units)
    return correct_or_show(
        request,
        form,
        lambda reason: rounds.amend_round(round_=round_, reason=reason),
        "qa/round_amend.html",
        round=round_,
    )


@login_required
@require_http_methods(["GET", "POST"])
def round_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: rounds.void_round(round_=round_, by=request.user, reason=reason),
        "void_page.html",
        record=round_,
    )


@login_required
@require_http_methods(["GET", "POST"])
def test_create(request: PersonRequest, pk: UUID) -> HttpResponse:
    round_ = get_for_user(TestRound, request.user, Role.TECHNICIAN, pk=pk)
    test = InfiltrationTest(round=round_, method=asked_method(request.GET.get("method", "")))
    initial = {} if request.POST else start_values(test, request, request.GET.get("location"))
    form = form_for(test, request.POST or None, initial, request.FILES or None)
    offer_to_keep(form, _(KEEP_LABEL))
    return save_or_show(
        request,
        form,
        lambda: record(request, form, test),
        test_template(test),
        page=lambda: guide_page(test, request.current.units),
    )


def record(request: PersonRequest, form: TestForm | FieldTestForm, test: InfiltrationTest) -> Onward:
    """Store the test, say what came out, and go back to the round for the next spot.

    Raises ValidationError while it would not count in full, or is far from what is expected, and nobody said to keep it
    so.
    """
    if not form.cleaned_data[KEEP]:
        refuse_loss(rounds.foreseen_loss(test))
        refuse_surprise(rounds.foreseen_surprise(test))
    test = rounds.record_test(test=test, by=request.user, sent=form.sent)
    messages.success(request, _stored_words(test))
    return Onward(test, test.round)


def _stored_words(test: InfiltrationTest) -> str:
    said = _("Test at {place} stored.").format(place=test.place)
    if not test.is_valid:
        return " ".join((said, _("It does not count; see why below.")))
    if test.deviations:
        off = counted(len(test.deviations), "deviation")
        return " ".join((said, _("{deviations} from the method; see below.").format(deviations=off)))
    return said


@login_required
@require_safe
def test_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    test = get_for_user(InfiltrationTest, request.user, Role.OWNER, pk=pk)
    own_firm = request.current.acts_for(test.round.surface.organisation)
    context = {
        "test": test,
        "round": test.round,
        "files": seen_by_firm(test.attachments.all(), own_firm),
        "photos_before": photos_before(test),
        "lines": lines_of(test),
        "figures": figures_of(test, request.current.units),
        "worked": worked_ring(test),
        "own_firm": own_firm,
        "facts": facts_on(TestMethod(test.method), test.round.surface.surface_type),
    }
    return render(request, "qa/test_detail.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def test_correct(request: PersonRequest, pk: UUID) -> HttpResponse:
    old = get_for_user(InfiltrationTest, request.user, Role.TECHNICIAN, pk=pk)
    new = InfiltrationTest(round=old.round, method=old.method)
    form = form_for(new, request.POST or None, values_of(old), request.FILES or None)
    return correct_or_show(
        request,
        form,
        lambda reason: rounds.correct_test(old=old, new=new, by=request.user, reason=reason, sent=form.sent),
        "qa/test_correct.html",
        old=old,
        test=new,
        spots_tested=spots_tested(old.round, before=old),
    )


@login_required
@require_http_methods(["GET", "POST"])
def test_void(request: PersonRequest, pk: UUID) -> HttpResponse:
    test = get_for_user(InfiltrationTest, request.user, Role.TECHNICIAN, pk=pk)
    return save_with_reason(
        request,
        lambda reason: rounds.void_test(test=test, by=request.user, reason=reason),
        "void_page.html",
        record=test,
    )
