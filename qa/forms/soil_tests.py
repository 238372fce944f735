"""Text to typed values for soil infiltration tests."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.units import Quantity, UnitSystem
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, Group, bound_fields, show_unit
from qa.calc.soil import SoilReadings, SoilRun
from qa.forms.measures import MeasuredForm, MeasureField
from qa.models import SoilTest

RUNS = 6
LEVELS = {
    "start": gettext_noop("Run {number}, level at the start"),
    "end": gettext_noop("Run {number}, level at the end"),
}
HALF = gettext_noop("Enter both levels and the minutes of this run, or leave all three empty.")


class SoilTestForm(MeasuredForm[SoilTest], OnceForm[SoilTest]):
    """One place: what and where, then the runs in the order they were made."""

    measures = {
        "depth_mm": Quantity.SHORT_LENGTH,
        "pit_length_mm": Quantity.SHORT_LENGTH,
        "pit_width_mm": Quantity.SHORT_LENGTH,
    }

    class Meta:
        model = SoilTest
        fields = (
            "tested_on",
            "tested_by",
            "method",
            "place",
            "depth_mm",
            "pit_length_mm",
            "pit_width_mm",
            "note",
        )
        widgets = {
            "tested_on": DayInput(),
            "method": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        for number in range(1, RUNS + 1):
            for which, label in LEVELS.items():
                self.fields[f"{which}_{number}"] = _level(_(label).format(number=number), units)
            minutes = forms.FloatField(
                label=_("Run {number}, time").format(number=number),
                min_value=0.01,
                max_value=10_000,
                required=False,
            )
            minutes.widget.attrs |= DECIMAL
            show_unit(minutes, "min")
            self.fields[f"minutes_{number}"] = minutes

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        runs = []
        for number in range(1, RUNS + 1):
            names = (f"start_{number}", f"end_{number}", f"minutes_{number}")
            values = [cleaned.get(name) for name in names]
            if all(value is not None for value in values):
                runs.append(SoilRun(*(float(value) for value in values if value is not None)))
            elif any(value is not None for value in values) and not any(
                name in self.errors for name in names
            ):
                self.add_error(names[values.index(None)], _(HALF))
        self.instance.readings = SoilReadings(tuple(runs))
        return cleaned

    @property
    def groups(self) -> list[Group]:
        """In the order of the work."""
        return [
            Group(_("The test"), bound_fields(self, "tested_on", "tested_by", "method", "place", "depth_mm")),
            Group(
                _("Floor of the pit"),
                bound_fields(self, "pit_length_mm", "pit_width_mm"),
                _("Only for a test pit; the water that leaves through its sides is allowed for."),
            ),
            Group(
                _("Runs"),
                bound_fields(
                    self,
                    *(f"{part}_{number}" for number in range(1, RUNS + 1) for part in (*LEVELS, "minutes")),
                ),
                _(
                    "Soak the soil first. Levels are above the floor; refill between runs until two agree within a "
                    "tenth. The last run counts."
                ),
            ),
            Group(_("Note"), bound_fields(self, "note")),
        ]


def _level(label: str, units: str) -> MeasureField:
    field = MeasureField(
        quantity=Quantity.SHORT_LENGTH,
        lowest=0,
        highest=20_000,
        label=label,
        required=False,
        widget=forms.NumberInput(attrs=DECIMAL),
    )
    field.speak(UnitSystem(units))
    return field
