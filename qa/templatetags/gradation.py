"""Sieves and bands in templates."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import NOTHING, figure
from core.presentation.measures import with_unit
from qa.selectors.gradation import SieveRow

register = template.Library()

TAGS = {"out": ("bad", gettext_noop("out")), "missing": ("warn", gettext_noop("not reported"))}
WORDS = {"inside": gettext_noop("in the band"), "free": NOTHING}


@register.filter
def range_to(low: float, high: float) -> str:
    """Two limits as a range, or as one number where they are the same."""
    return figure(high) if low == high else _("{low} to {high}").format(low=figure(low), high=figure(high))


@register.filter
def sieve_asked(row: SieveRow) -> SafeString | str:
    """What may pass a sieve."""
    if row.low is None or row.high is None:
        return _("no limit")
    return with_unit(range_to(row.low, row.high), "%")


@register.filter
def sieve_finding(row: SieveRow) -> SafeString | str:
    """Whether a sieve lies in its band, and why not."""
    if row.state in WORDS:
        return _(WORDS[row.state])
    tone, word = TAGS[row.state]
    return format_html('<span class="tag tag--{}">{}</span> {}', tone, _(word), row.reason)
