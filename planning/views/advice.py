"""What is decided about several pieces of advice at once: planned, put off, declined, shown to their owners.

Each page lists what was chosen, to be ticked off once more, and does it when it is sent.
"""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Q, QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext
from django.views.decorators.http import require_http_methods

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from core.calc.format import day
from core.views.form_views import asked_place, save_or_show
from maintenance.calc.vocabulary import Action
from maintenance.models import Recommendation
from maintenance.models.recommendations import RELEASABLE, UNDECIDED
from maintenance.services import recommendations, releases
from planning.forms.work import ChosenForm, DeclineManyForm, PlanManyForm, PutOffForm
from planning.selectors.work import advised, joined
from planning.services import visits

NONE_CHOSEN = gettext_noop(
    "Nothing is chosen that this can be done with. Tick what it is to be done with, then choose again."
)


@login_required
@require_http_methods(["GET", "POST"])
def advice_plan(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)

    def save(form: ChosenForm) -> Any:
        given = dict(form.cleaned_data)
        rows = list(given.pop("advice"))
        visit = visits.plan_all(recommendations=rows, by=request.user, **given)
        said = ngettext(
            "{count} piece of advice on the visit of {day}.",
            "{count} pieces of advice on the visit of {day}.",
            len(rows),
        )
        return visit, said.format(count=len(rows), day=day(visit.visit_on))

    return _decide(request, UNDECIDED, PlanManyForm, save, "plan", organisation=organisation)


@login_required
@require_http_methods(["GET", "POST"])
def advice_put_off(request: PersonRequest) -> HttpResponse:
    require_role(request.current, Role.COORDINATOR)

    def save(form: ChosenForm) -> Any:
        rows, until = list(form.cleaned_data["advice"]), form.cleaned_data["until"]
        reason = form.cleaned_data["reason"]
        recommendations.put_off(recommendations=rows, by=request.user, until=until, reason=reason)
        said = ngettext(
            "{count} piece of advice put off until {day}.",
            "{count} pieces of advice put off until {day}.",
            len(rows),
        )
        return rows[0].surface, said.format(count=len(rows), day=day(until))

    return _decide(request, UNDECIDED, PutOffForm, save, "put_off")


@login_required
@require_http_methods(["GET", "POST"])
def advice_decline(request: PersonRequest) -> HttpResponse:
    require_role(request.current, Role.COORDINATOR)

    def save(form: ChosenForm) -> Any:
        rows, reason = list(form.cleaned_data["advice"]), form.cleaned_data["reason"]
        recommendations.decline_all(recommendations=rows, by=request.user, reason=reason)
        said = ngettext("{count} piece of advice declined.", "{count} pieces of advice declined.", len(rows))
        return rows[0].surface, said.format(count=len(rows))

    return _decide(request, UNDECIDED, DeclineManyForm, save, "decline")


@login_required
@require_http_methods(["GET", "POST"])
def advice_release(request: PersonRequest) -> HttpResponse:
    require_role(request.current, Role.COORDINATOR)

    def save(form: ChosenForm) -> Any:
        rows = list(form.cleaned_data["advice"])
        releases.release(recommendations=rows, by=request.user)
        said = ngettext(
            "{count} piece of advice released to the owners.",
            "{count} pieces of advice released to the owners.",
            len(rows),
        )
        return rows[0].surface, said.format(count=len(rows))

    return _decide(request, RELEASABLE, ChosenForm, save, "release")


def _decide(
    request: PersonRequest,
    statuses: tuple[str, ...],
    form_class: type[ChosenForm],
    save: Callable[[ChosenForm], tuple[Any, str]],
    what: str,
    **of_form: Any,
) -> HttpResponse:
    """The page of one decision. save: does it, gives where to go and what to say. what: names the template."""
    chosen = chosen_advice(request).filter(status__in=statuses)
    if not chosen.exists():
        messages.warning(request, _(NONE_CHOSEN))
        return redirect(asked_place(request) or "/")
    form = form_class(request.POST or None, chosen=chosen, **of_form)

    def saved() -> Any:
        place, said = save(form)
        messages.success(request, said)
        return place

    back = asked_place(request) or form.chosen[0].surface.get_absolute_url()
    return save_or_show(request, form, saved, f"planning/advice_{what}.html", chosen=form.chosen, back=back)


def chosen_advice(request: PersonRequest) -> QuerySet[Recommendation]:
    """Advice named one by one, and all of a trip's in the list it was chosen from."""
    try:
        named = Q(pk__in=[UUID(key) for key in request.GET.getlist("advice")])
        for trip in request.GET.getlist("trip"):
            site, action = trip.split(":")
            of_trip = Q(surface__site=UUID(site), action=Action(action))
            named |= of_trip & Q(status=request.GET.get("shown") or "open")
    except ValueError as error:
        raise Http404(f"No advice of this kind: {error}.") from error
    return joined(advised(request.user, request.current.organisation).filter(named))  # type: ignore[arg-type]
