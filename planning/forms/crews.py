"""Text to typed values for crews."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import User
from core.calc.paving import CleaningMethod
from core.calc.units import Quantity, UnitSystem
from core.forms.once import OnceForm
from core.forms.parts import DECIMAL, DayInput, TimeInput
from core.forms.prices import PriceField
from planning.models import Crew, CrewAbsence, CrewMethod
from qa.forms.measures import MeasureField
from qa.forms.sites import MonthsForm, WeekdaysField


class CrewForm(OnceForm[Crew]):
    class Meta:
        model = Crew
        fields = ("name", "people", "hours_a_day", "retired")
        widgets = {"people": forms.CheckboxSelectMultiple}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        members = User.objects.filter(memberships__organisation=self.instance.organisation)
        self.fields["people"].queryset = members  # type: ignore[attr-defined]


class CrewWorkForm(MonthsForm[Crew]):
    """When, from where and with what a crew works; for each way of cleaning whether it is equipped, and its output."""

    weekdays = WeekdaysField(label=_lazy("Works on"))

    class Meta:
        model = Crew
        fields = (
            "weekdays",
            "starts_at",
            "hours_a_day",
            "depot",
            "latitude_deg",
            "longitude_deg",
            "hour_cost",
            "km_cost",
            "is_subcontracted",
        )
        widgets = {"starts_at": TimeInput()}

    def __init__(self, *args: Any, units: str = "si", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.units = units
        rows = {row.method: row for row in self.instance.methods.all()}
        for method in CleaningMethod:
            row = rows.get(method.value)
            self._add_method(method, row)

    def _add_method(self, method: CleaningMethod, row: CrewMethod | None) -> None:
        self.fields[f"{method}-can"] = forms.BooleanField(
            label=method.label, required=False, initial=row is not None
        )
        output = MeasureField(
            quantity=Quantity.OUTPUT,
            lowest=0.1,
            label=_("Output of {method}").format(method=method.label.lower()),
            required=False,
            initial=row.output_m2_h if row else None,
            widget=forms.NumberInput(attrs=DECIMAL),
        )
        output.speak(UnitSystem(self.units))
        self.fields[f"{method}-output"] = output
        self.fields[f"{method}-cost"] = PriceField(
            quantity=Quantity.PRICE_BY_AREA,
            units=self.units,
            currency=self.instance.organisation.currency,
            label=_("Its price for {method}").format(method=method.label.lower()),
            required=False,
            initial=row.cost_per_m2 if row else None,
        )

    def method_rows(self) -> list[tuple[Any, Any, Any]]:
        """Bound fields of each way of cleaning: whether, output, price."""
        return [(self[f"{m}-can"], self[f"{m}-output"], self[f"{m}-cost"]) for m in CleaningMethod]

    def methods(self) -> list[CrewMethod]:
        """What the crew is equipped for, as rows to store; none means all."""
        sent = self.cleaned_data
        return [
            CrewMethod(
                crew=self.instance,
                method=method.value,
                output_m2_h=sent[f"{method}-output"],
                cost_per_m2=sent[f"{method}-cost"],
            )
            for method in CleaningMethod
            if sent[f"{method}-can"]
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for method in CleaningMethod:
            for name in (f"{method}-output", f"{method}-cost"):
                self._keep_as_stored(cleaned, name)
            given = cleaned.get(f"{method}-output") or cleaned.get(f"{method}-cost")
            if given and not cleaned.get(f"{method}-can"):
                said = _("Tick {method} too, or empty its output and price.")
                self.add_error(f"{method}-can", said.format(method=method.label.lower()))
        return cleaned

    def _keep_as_stored(self, cleaned: dict[str, Any], name: str) -> None:
        """What still stands as it was shown in these units stays as it is."""
        field: Any = self.fields[name]
        if name in cleaned and not field.has_changed(field.initial, self.data.get(self.add_prefix(name))):
            cleaned[name] = field.initial


class AbsenceForm(OnceForm[CrewAbsence]):
    class Meta:
        model = CrewAbsence
        fields = ("first_on", "last_on", "reason")
        widgets = {"first_on": DayInput(), "last_on": DayInput()}
