"""Text to typed values for agreements."""

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from core.forms.parts import DayInput
from planning.models import Agreement
from qa.forms.sites import MonthsField, MonthsForm


class AgreementForm(MonthsForm[Agreement]):
    report_months = MonthsField(
        label=_lazy("Report months"), help_text=_lazy("Months at whose start the owner receives a report.")
    )

    class Meta:
        model = Agreement
        fields = (
            "tests_per_year",
            "cleanings_per_year",
            "price_per_year",
            "since",
            "until",
            "renews",
            "notice_days",
            "report_months",
            "note",
        )
        widgets = {"since": DayInput, "until": DayInput, "note": forms.Textarea(attrs={"rows": 2})}
