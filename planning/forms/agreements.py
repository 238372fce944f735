"""Text to typed values for agreements."""

from django import forms

from core.forms.parts import DayInput
from planning.models import Agreement
from qa.forms.sites import MonthsField, MonthsForm


class AgreementForm(MonthsForm[Agreement]):
    report_months = MonthsField(help_text="Months at whose start the owner receives a report.")

    class Meta:
        model = Agreement
        fields = ("since", "tests_per_year", "cleanings_per_year", "report_months", "note")
        widgets = {"since": DayInput, "note": forms.Textarea(attrs={"rows": 2})}
