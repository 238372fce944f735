"""Text to typed values for what care is worth."""

from core.forms.fresh import FreshForm
from qa.models import Site


class CareValueForm(FreshForm[Site]):
    """What it is worth at one site to stay within the limit."""

    class Meta:
        model = Site
        fields = ("below_price_m2_yr",)
