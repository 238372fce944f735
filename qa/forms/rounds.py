"""Text to typed values for test rounds and tests."""

from typing import Any

from django import forms

from qa.calc.ring import PROCEDURES
from qa.calc.units import Quantity, UnitSystem
from qa.forms.measures import MeasuredForm
from qa.models import InfiltrationTest, Location, TestRound


class RoundForm(MeasuredForm):
    measures = {
        "air_temperature_c": Quantity.TEMPERATURE,
        "surface_temperature_c": Quantity.TEMPERATURE,
    }

    class Meta:
        model = TestRound
        fields = (
            "tested_on",
            "purpose",
            "hours_since_rain",
            "standing_water",
            "air_temperature_c",
            "surface_temperature_c",
            "note",
        )
        widgets = {
            "tested_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "purpose": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }


class ReasonForm(forms.Form):
    reason = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays readable beside the record.",
    )


class TestForm(forms.ModelForm):
    """One ring test: the readings as taken, in the units they were taken in."""

    __test__ = False

    class Meta:
        model = InfiltrationTest
        fields = (
            "location",
            "spot",
            "unit_system",
            "rewetted",
            "prewet_mass",
            "prewet_time_s",
            "start_delay_s",
            "minutes_since_first",
            "test_mass",
            "ring_diameter",
            "elapsed_s",
            "ended",
            "leak_seen",
            "note",
        )
        widgets = {
            "unit_system": forms.RadioSelect,
            "ended": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        surface = self.instance.round.surface
        locations = Location.objects.filter(surface=surface, retired=False)
        self.fields["location"].queryset = locations  # type: ignore[attr-defined]
        self.fields["location"].empty_label = "Another spot (describe it)"  # type: ignore[attr-defined]
        self.fields["spot"].help_text = "Only when the test was not at a fixed location."
        for name in (
            "prewet_mass",
            "test_mass",
            "ring_diameter",
            "prewet_time_s",
            "start_delay_s",
            "elapsed_s",
        ):
            self.fields[name].widget.attrs |= {"step": "any", "inputmode": "decimal"}


def nominal_readings(units: str) -> dict[str, object]:
    """What a new ring test starts with: the ring and the prewet mass of the standard."""
    procedure = PROCEDURES[UnitSystem(units)]
    return {
        "unit_system": units,
        "prewet_mass": procedure.small_mass,
        "ring_diameter": procedure.diameter_nominal,
    }
