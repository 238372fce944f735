"""Text to typed values for what a firm verified."""

from collections.abc import Sequence

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from core.forms.once import OnceForm
from core.forms.parts import DayInput
from reporting.models import VerifiedSource
from reporting.selectors.sources import SourceRow


class VerifyForm(OnceForm[VerifiedSource]):
    class Meta:
        model = VerifiedSource
        fields = ("edition", "verified_by", "verified_on")
        widgets = {"verified_on": DayInput}


class SourceFilter(forms.Form):
    """What the list of sources can be narrowed by."""

    q = forms.CharField(label=_lazy("Words of the source, or what rests on it"), required=False)
    open_only = forms.BooleanField(label=_lazy("Only those not verified yet"), required=False)

    def narrowed(self, rows: Sequence[SourceRow]) -> list[SourceRow]:
        """The rows that hold every word; all of them where nothing is asked."""
        if not self.is_valid():
            return list(rows)
        words = self.cleaned_data["q"].lower().split()
        open_only = self.cleaned_data["open_only"]
        kept = (row for row in rows if not (open_only and row.verified))
        return [row for row in kept if all(word in row.words for word in words)]
