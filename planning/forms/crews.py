"""Text to typed values for crews."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import User
from core.calc.paving import CleaningMethod
from core.forms.once import OnceForm
from core.forms.parts import DayInput, TimeInput
from planning.models import Crew, CrewAbsence, CrewMethod
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

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = {row.method: row for row in self.instance.methods.all()}
        for method in CleaningMethod:
            row = rows.get(method.value)
            self._add_method(method, row)

    def _add_method(self, method: CleaningMethod, row: CrewMethod | None) -> None:
        self.fields[f"{method}-can"] = forms.BooleanField(
            label=method.label, required=False, initial=row is not None
        )
        self.fields[f"{method}-output"] = forms.FloatField(
            label=_("Output of {method}, in m²/h").format(method=method.label.lower()),
            required=False,
            min_value=0.1,
            initial=row.output_m2_h if row else None,
        )
        self.fields[f"{method}-cost"] = forms.DecimalField(
            label=_("Its price for {method}, per m²").format(method=method.label.lower()),
            required=False,
            min_value=Decimal(0),
            max_digits=9,
            decimal_places=2,
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
            given = cleaned.get(f"{method}-output") or cleaned.get(f"{method}-cost")
            if given and not cleaned.get(f"{method}-can"):
                said = _("Tick {method} too, or empty its output and price.")
                self.add_error(f"{method}-can", said.format(method=method.label.lower()))
        return cleaned


class AbsenceForm(OnceForm[CrewAbsence]):
    class Meta:
        model = CrewAbsence
        fields = ("first_on", "last_on", "reason")
        widgets = {"first_on": DayInput(), "last_on": DayInput()}
