"""Water in the build-up of a surface."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.acting import PersonRequest
from accounts.roles import Role
from accounts.tenancy import get_or_deny
from qa.calc.rain import DRAIN_TIME_RULES_H, RUN_ON_RULES, SETBACKS
from qa.charts import fate_figure, fate_rows, store_figure
from qa.forms.water import RainForm, example_rain
from qa.models import Surface
from qa.water import RainAsked, surface_water
from qa.wording import CAUTIONS, TRAPS, rain_sentence


@login_required
@require_GET
def water_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    surface = get_or_deny(Surface, request.user, Role.OWNER, pk=pk)
    units = request.acting.units
    example = example_rain(surface, units)
    form = RainForm(request.GET if "rain_mm" in request.GET else None, units=units, initial=example)
    asked = form.asked if form.is_valid() else RainAsked(**example)
    water = surface_water(surface, asked, units)
    context = {
        "surface": surface,
        "form": form,
        "asked": asked,
        "water": water,
        "fate": fate_figure(water.cases, units),
        "course": store_figure(water.cases, water.store, units),
        "fate_rows": fate_rows(water.cases),
        "sentence": rain_sentence(surface, water, asked, units),
        "rules": {"drain": DRAIN_TIME_RULES_H, "run_on": RUN_ON_RULES, "setbacks": SETBACKS},
        "cautions": CAUTIONS,
        "traps": TRAPS,
    }
    return render(request, "qa/water_detail.html", context)
