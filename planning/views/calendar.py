"""The calendar of visits: a firm's for its people, the days at their own sites for an owner's."""

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import require_role
from accounts.views.current_organisation import PersonRequest
from planning.forms.calendar import CalendarFilter
from planning.presentation.calendar import calendar_page
from planning.selectors.calendar import calendar_of_firm, calendar_of_owner
from qa.models import Site
from qa.selectors.days import usual_date


@login_required
@require_safe
def calendar_show(request: PersonRequest) -> HttpResponse:
    organisation = request.current.organisation
    if organisation is not None:
        require_role(request.current, Role.VIEWER)
    sites = Site.objects.for_user(request.user)
    zones = sites.of_organisation(organisation) if organisation else sites
    today = usual_date(zones.values_list("time_zone", flat=True), now())
    asked = CalendarFilter(request.GET, user=request.user, organisation=organisation, today=today)
    span, to = asked.span, asked.to
    if organisation is not None:
        read = calendar_of_firm(request.user, organisation, span, to)
    else:
        read = calendar_of_owner(request.user, span, to)
    page = calendar_page(read, span, today, asked.address)
    asked.shown()
    return render(request, "planning/calendar.html", {"page": page, "filter": asked})
