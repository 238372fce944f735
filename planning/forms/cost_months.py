"""Which months, and of whom."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from accounts.models import Organisation, Owner
from core.calc.months import months_after
from core.forms.parts import DayInput
from planning.calc.cost_months import MOST_MONTHS, month_of, months_between

USUAL_MONTHS = 6  # back, and as many ahead
TURNED = gettext_noop("The last day is before the first. Turn them round.")
TOO_MANY = gettext_noop("These are %(months)d months; at most %(most)d fit on a page. Take a shorter period.")


class CostMonthsForm(forms.Form):
    """A period in whole months, of the firm or of one owner; empty: half a year back and half a year ahead."""

    first = forms.DateField(label=_lazy("From the month of"), required=False, widget=DayInput())
    last = forms.DateField(label=_lazy("To the month of"), required=False, widget=DayInput())
    owner = forms.ModelChoiceField(
        Owner.objects.none(), label=_lazy("Owner"), required=False, empty_label=_lazy("All owners")
    )

    def __init__(self, data: Any, *, organisation: Organisation, today: date) -> None:
        super().__init__(data)
        self.usual = usual_period(today)
        self.fields["owner"].queryset = Owner.objects.of_organisation(organisation)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = self._period(cleaned)
        if last < first:
            self.add_error("last", _(TURNED))
        elif (months := len(months_between(first, last))) > MOST_MONTHS:
            self.add_error(
                "last", forms.ValidationError(_(TOO_MANY), params={"months": months, "most": MOST_MONTHS})
            )
        return cleaned

    def _period(self, given: dict[str, Any]) -> tuple[date, date]:
        return given.get("first") or self.usual[0], given.get("last") or self.usual[1]

    @property
    def period(self) -> tuple[date, date]:
        """What is asked for; the usual one where that cannot be read."""
        return self._period(self.cleaned_data) if self.is_valid() else self.usual


def usual_period(today: date) -> tuple[date, date]:
    """From half a year back to half a year ahead, twelve months in all."""
    first = months_after(month_of(today), -USUAL_MONTHS)
    return first, months_after(first, 2 * USUAL_MONTHS) - timedelta(days=1)
