"""Names of what is done, in templates."""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from core.calc.format import figure, fixed
from core.calc.jobs import JobState
from core.calc.paving import CleaningMethod
from maintenance.calc.text import names_money, speak
from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import PortfolioFit

register = template.Library()
HUNDREDTH = Decimal("0.01")


@register.filter
def method_name(key: str) -> str:
    """The words for a cleaning method."""
    return CleaningMethod(key).label


@register.filter
def state_word(state: str | None) -> str:
    """The words for the state of a surface; one whose forecast is still to be made counts as not tested."""
    return SurfaceState(state or SurfaceState.NOT_TESTED).label


@register.simple_tag
def status(state: str | None) -> SafeString:
    """The mark and the words for the state of a surface. A list shows the same few a hundred times."""
    return _status(state or SurfaceState.NOT_TESTED.value, get_language())


@lru_cache(maxsize=100)
def _status(state: str, _language: str | None) -> SafeString:
    return render_to_string("parts/_status.html", {"state": state})


@register.filter
def years(count: float | None) -> str:
    """Years until the limit, within the ten that a forecast reaches."""
    return _("over 10") if count is None else figure(count)


@register.filter
def amount(value: float | Decimal | None) -> str:
    """A number to the hundredth, with a mark between thousands; empty where there is none."""
    if value is None:
        return ""
    return fixed(Decimal(str(value)).quantize(HUNDREDTH, ROUND_HALF_UP), 2, parted=True)


@register.filter
def looked_up(text: str) -> str:
    """A text of the code in the reader's language. The tag for it would double every percent sign on the way."""
    return _(text) if text else ""


@register.filter
def spoken(sentence: str, units: str) -> str:
    """A stored sentence with its numbers in the reader's units."""
    return speak(sentence, units)


@register.filter
def readable(reasons: Iterable[str], prices: bool) -> list[str]:
    """The reasons, without those that name money where the reader may not know prices."""
    return [reason for reason in reasons if prices or not names_money(reason)]


@register.filter
def fit_note(fit: PortfolioFit) -> str:
    """What became of a fit: why it failed, or whether it settled."""
    if fit.error or fit.state != JobState.DONE:
        return _(fit.error) if fit.error else ""
    return _("settled") if fit.converged else _("did not settle: {why}").format(why=fit.message)
