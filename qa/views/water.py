"""Water in the build-up of a surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from qa.calc.rain import DRAIN_TIME_RULES_H, RUN_ON_RULES, SETBACKS
from qa.forms.water import RainForm, example_rain
from qa.models import Surface
from qa.presentation.rain_part import rain_part
from qa.presentation.soil import soil_part
from qa.presentation.water_figures import store_figures
from qa.presentation.wording import CAUTIONS, TRAPS
from qa.presentation.worked_ground import worked_storage
from qa.selectors.water import RainAsked, soil_tested, surface_water


@login_required
@require_safe
def water_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    units = request.current.units
    example = example_rain(surface, units)
    form = RainForm(request.GET if "rain_mm" in request.GET else None, units=units, initial=example)
    asked = form.asked if form.is_valid() else RainAsked(**example)
    water = surface_water(surface, asked, units)
    context = {
        "surface": surface,
        "soil": soil_part(surface, soil_tested(surface), units),
        "form": form,
        "asked": asked,
        "water": water,
        "worked": worked_storage(water.store, units),
        "figures": store_figures(surface, water.store, units) if water.store else (),
        "rain": rain_part(surface, water, asked, units, chosen=form.is_bound),
        "rules": {"drain": DRAIN_TIME_RULES_H, "run_on": RUN_ON_RULES, "setbacks": SETBACKS},
        "cautions": CAUTIONS,
        "traps": TRAPS,
    }
    return render(request, "qa/water_detail.html", context)
