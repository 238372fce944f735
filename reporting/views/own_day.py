"""The day of the crew that a person goes out with: their first page on site."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from planning.forms.calendar import DayForm
from planning.models import Crew
from planning.presentation.own_day import crew_choices, day_choices, next_task, own_day
from planning.selectors.crew_days import crew_day
from planning.selectors.own_days import crew_chosen, crews_of, day_to_show, days_ahead, left_behind
from qa.selectors.days import firm_today
from reporting.presentation.words import worded
from reporting.selectors.crew_days import paper_of_day


@login_required
@require_safe
def day_own(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    return own_day_page(request, organisation, crews_of(request.user, organisation))


def own_day_page(request: PersonRequest, organisation: Organisation, crews: list[Crew]) -> HttpResponse:
    """The page of a day; it says what to do where the person is in no crew."""
    page = _page(request, organisation, crews) if crews else {}
    return render(request, "reporting/own_day.html", {"crews": crews} | page)


def _page(request: PersonRequest, organisation: Organisation, crews: list[Crew]) -> dict[str, Any]:
    today, crew = firm_today(organisation), crew_chosen(crews, request.GET.get("crew", ""))
    days = days_ahead(crew, today)
    asked = DayForm(request.GET, today=today).day if request.GET.get("on") else None
    on = day_to_show(days, asked, today)
    day = crew_day(crew, on)
    back = f"{reverse('reporting:day-own')}?crew={crew.pk}&on={on.isoformat()}"
    shown = own_day(day, back)
    return {
        "crew": crew,
        "day": day,
        "today": today,
        "of_crews": crew_choices(crews, crew),
        "of_days": day_choices(crew, days, on),
        "own": shown,
        "next": next_task(shown.stops),
        "late": left_behind(crew, today),
        "loads": worded(paper_of_day(day), request.current.units) if day.stops else None,
        "visit": day.visits[0] if day.visits else None,
    }
