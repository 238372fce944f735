"""By what the surfaces of a portfolio are counted."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from reporting.calc.portfolio import Grouping


class PortfolioForm(forms.Form):
    """By surface type where nothing is asked, or nothing that there is."""

    by = forms.ChoiceField(
        label=_lazy("Counted by"), choices=Grouping.choices, required=False, initial=Grouping.TYPE.value
    )

    def __init__(self, data: Any) -> None:
        super().__init__(data or None)

    @property
    def grouping(self) -> Grouping:
        """What is asked for."""
        asked = self.cleaned_data.get("by") if self.is_valid() else ""
        return Grouping(asked or Grouping.TYPE)
