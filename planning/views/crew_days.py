"""A crew's day: where it goes, on a map and as a list."""

from datetime import timedelta
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from planning.forms.calendar import DayForm
from planning.models import Crew
from planning.presentation.crew_days import day_note, map_of_day, order_note, stop_lines
from planning.selectors.crew_days import crew_day, may_have_paper
from qa.selectors.days import firm_today

ONE_DAY = timedelta(days=1)


@login_required
@require_safe
def crew_day_show(request: PersonRequest, pk: UUID) -> HttpResponse:
    crew = get_for_user(Crew, request.user, Role.VIEWER, pk=pk)
    asked = DayForm(request.GET, today=firm_today(crew.organisation))
    day = crew_day(crew, asked.day)
    context = {
        "day": day,
        "form": asked,
        "before": day.on - ONE_DAY,
        "after": day.on + ONE_DAY,
        "stops": stop_lines(day),
        "map": map_of_day(day, request.current.units),
        "note": day_note(day),
        "order": order_note(day),
        "paper_of": day.visits[0] if day.visits and may_have_paper(request.user, crew) else None,
    }
    return render(request, "planning/crew_day.html", context)
