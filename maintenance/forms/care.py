"""Text to typed values for what care is worth."""

from decimal import Decimal, InvalidOperation

from core.calc.units import Quantity
from core.forms.prices import MOST, WORTH, PricedForm
from qa.models import Site


class CareValueForm(PricedForm[Site]):
    """What it is worth at one site to stay within the limit."""

    prices = {"below_price_m2_yr": (Quantity.PRICE_BY_AREA, WORTH)}

    class Meta:
        model = Site
        fields = ("below_price_m2_yr",)


def worth_asked(text: str) -> dict[str, Decimal]:
    """The figure for each m² that a link to the form names, to begin with; nothing where it can be no price."""
    try:
        asked = Decimal(text)
    except InvalidOperation:
        return {}
    return {"below_price_m2_yr": asked} if asked.is_finite() and 0 <= asked <= MOST else {}
