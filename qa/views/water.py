"""Water in the build-up of a surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.calc.roles import Role
from accounts.models.tenancy import get_for_user
from accounts.views.current_organisation import PersonRequest
from qa.calc.rain import DRAIN_TIME_RULES_H, RUN_ON_RULES, SETBACKS
from qa.forms.water import RainForm, example_rain
from qa.models import Surface
from qa.presentation.charts import course_chart, fate_chart, fate_rows
from qa.presentation.soil import soil_rows
from qa.presentation.wording import CAUTIONS, TRAPS, rain_sentence
from qa.selectors.water import RainAsked, soil_tested, soil_warning, surface_water


@login_required
@require_GET
def water_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_for_user(Surface, request.user, Role.OWNER, pk=pk)
    units = request.current.units
    example = example_rain(surface, units)
    form = RainForm(request.GET if "rain_mm" in request.GET else None, units=units, initial=example)
    asked = form.asked if form.is_valid() else RainAsked(**example)
    water = surface_water(surface, asked, units)
    said = rain_sentence(surface, water, asked, units)
    soil = soil_tested(surface)
    context = {
        "surface": surface,
        "soil": soil,
        "soil_warning": soil_warning(surface, soil, units),
        "soil_rows": soil_rows(soil, units),
        "form": form,
        "asked": asked,
        "water": water,
        "fate_chart": fate_chart(water, said, units),
        "course_chart": course_chart(water, units),
        "fate_rows": fate_rows(water.cases),
        "rules": {"drain": DRAIN_TIME_RULES_H, "run_on": RUN_ON_RULES, "setbacks": SETBACKS},
        "cautions": CAUTIONS,
        "traps": TRAPS,
    }
    return render(request, "qa/water_detail.html", context)
