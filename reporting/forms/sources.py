"""Text to typed values for what a firm verified."""

from core.forms.once import OnceForm
from core.forms.parts import DayInput
from reporting.models import VerifiedSource


class VerifyForm(OnceForm[VerifiedSource]):
    class Meta:
        model = VerifiedSource
        fields = ("edition", "verified_by", "verified_on")
        widgets = {"verified_on": DayInput}
