"""What sum, and for whom."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, Owner
from core.forms.parts import DECIMAL, show_unit
from core.models.decimals import DecimalEntry


class BudgetForm(forms.Form):
    """A yearly sum, of the firm or of one owner; empty: what would be spent without one."""

    amount = DecimalEntry(
        label=_lazy("Money a year"),
        required=False,
        min_value=0,
        max_digits=11,
        decimal_places=2,
        widget=forms.NumberInput(attrs=DECIMAL),
    )
    owner = forms.ModelChoiceField(
        Owner.objects.none(), label=_lazy("Owner"), required=False, empty_label=_lazy("All owners")
    )

    def __init__(self, data: Any, *, organisation: Organisation) -> None:
        super().__init__(data)
        self.fields["owner"].queryset = Owner.objects.of_organisation(organisation)  # type: ignore[attr-defined]
        show_unit(self.fields["amount"], organisation.currency)
