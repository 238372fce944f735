"""The rain a person asks about."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.units import MM_PER_IN, Quantity, UnitSystem
from core.forms.parts import DECIMAL, show_unit
from qa.calc.drain_down import drain_limit
from qa.forms.measures import MeasureField
from qa.models import Surface
from qa.selectors.water import RainAsked

EXAMPLE_MM = {UnitSystem.SI: 50.0, UnitSystem.US: 2 * MM_PER_IN}
EXAMPLE_H, USUAL_DRAIN_H = 2.0, 72.0
EXAMPLE_PEAK = 2.0  # a triangle, the plainest rain with a peak


class RainForm(forms.Form):
    """Depth, duration and peak of a rain, and the time the stone may take to drain."""

    rain_mm = MeasureField(
        quantity=Quantity.SHORT_LENGTH,
        label=_lazy("Rain"),
        min_value=0.1,
        max_value=2000,
        help_text=_lazy("Depth over the whole duration, from the local rainfall table."),
    )
    duration_h = forms.FloatField(label=_lazy("Duration"), min_value=0.05, max_value=240)
    peak_factor = forms.FloatField(
        label=_lazy("Greatest intensity"),
        min_value=1,
        max_value=20,
        help_text=_lazy(
            "Over the mean: 1 falls evenly, 2 is a triangle, 5 a burst within a longer rain. It peaks halfway."
        ),
    )
    drain_h = forms.FloatField(
        label=_lazy("Time allowed to drain"),
        min_value=1,
        max_value=1000,
        help_text=_lazy("By the local rule; 72 h is common."),
    )

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = dict(self.initial)
        for name, unit in (("duration_h", "h"), ("peak_factor", _("times")), ("drain_h", "h")):
            show_unit(self.fields[name], unit)
            if name in self.initial:
                self.initial[name] = f"{self.initial[name]:g}"
        for field in self.fields.values():
            field.widget.attrs |= DECIMAL
        self.fields["rain_mm"].speak(UnitSystem(units))  # type: ignore[attr-defined]

    @property
    def asked(self) -> RainAsked:
        """The rain of a valid form."""
        return RainAsked(**{name: self.cleaned_data[name] for name in self.fields})


def example_rain(surface: Surface, units: str) -> dict[str, float]:
    """What the page starts with: an hour of the surface's design rain, or an example; its own time to drain."""
    limit = drain_limit(surface.drain_limit_h, surface.limit_preset)
    usual = {"peak_factor": EXAMPLE_PEAK, "drain_h": limit.hours if limit else USUAL_DRAIN_H}
    if surface.design_intensity_mm_h:
        return {"rain_mm": surface.design_intensity_mm_h, "duration_h": 1.0, **usual}
    return {"rain_mm": EXAMPLE_MM[UnitSystem(units)], "duration_h": EXAMPLE_H, **usual}
