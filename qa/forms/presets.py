"""Text to typed values for the firm's own rules."""

from core.calc.units import Quantity
from core.forms.once import OnceForm
from qa.forms.measures import MeasuredForm
from qa.models import OwnLimit


class OwnLimitForm(MeasuredForm[OwnLimit], OnceForm[OwnLimit]):
    measures = {"limit_mm_h": Quantity.RATE, "acceptance_mm_h": Quantity.RATE}

    class Meta:
        model = OwnLimit
        fields = ("name", "limit_mm_h", "acceptance_mm_h", "source")
