"""Values of snapshots in templates."""

import re
from collections.abc import Sequence
from decimal import Decimal

from django import template
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from core.calc.format import NOTHING, fixed
from maintenance.calc.forecast_payload import GainOfCleaning
from planning.presentation.work_plans import clock
from qa.calc.check_progress import CheckStatus
from reporting.calc.coming import ComingVisit
from reporting.calc.parts import AdvicePart, RecordLine, Standing
from reporting.calc.plain_words import surface_sentence
from reporting.calc.snapshots import SiteOfOwner, SiteSnapshot
from reporting.calc.values import BoundedRate, Money, UnitText
from reporting.calc.verdict import site_sentence
from reporting.presentation import record
from reporting.presentation.words import agreed_terms, money_words, rate_words

register = template.Library()
register.filter(agreed_terms)
_INDENT = re.compile(r"\n[ \t]+")


@register.simple_block_tag
def without_indents(content: str) -> SafeString:
    """What stands in the block without the blanks at the beginning of its lines: a fifth of a long document.

    A browser shows them nowhere but in preformatted text, which has no place in here.
    """
    return mark_safe(_INDENT.sub("\n", content))  # escaped as it was written


@register.filter
def in_units(text: UnitText | None, units: str) -> str:
    """A sentence in the reader's units; empty where there is none."""
    return text.in_units(units) if text else ""


@register.filter
def after_comma(text: str) -> str:
    """What is added to a sentence; nothing where there is nothing to add."""
    return f", {text}" if text else ""


@register.filter
def outcome(line: RecordLine, units: str) -> SafeString | str:
    """What a round showed, or how a cleaning was done."""
    return record.outcome_words(line, units)


@register.filter
def gained(gain: GainOfCleaning) -> str:
    """What a cleaning gave."""
    return record.gain_words(gain)


@register.filter
def money(amount: Money | None, otherwise: str = NOTHING) -> str:
    """An amount with its currency, or what stands where there is none."""
    return money_words(amount) if amount else otherwise


@register.filter
def amount(number: Decimal) -> str:
    """An amount without its currency."""
    return fixed(number, 2, parted=True)


@register.filter
def position(page: SiteSnapshot) -> str:
    """Where a site lies; empty where nobody said."""
    if page.latitude_deg is None or page.longitude_deg is None:
        return ""
    return f"{page.latitude_deg:.5f}, {page.longitude_deg:.5f}"


@register.filter
def bounded_rate(rate: BoundedRate, units: str) -> str:
    """A rate with its unit, behind the sign of its bound where it is one."""
    return rate_words(rate, units)


@register.filter
def in_a_sentence(site: SiteOfOwner, advice: Sequence[AdvicePart]) -> str:
    """How a site stands, what should be done about it, and when somebody comes."""
    return site_sentence(site.surfaces, advice, site.next_visit_on)


@register.filter
def told(surface: Standing) -> str:
    """How a surface stands, in a sentence."""
    return surface_sentence(surface)


@register.filter
def hours(visit: ComingVisit) -> str:
    """From when to when somebody is there, as planned; empty where nobody planned hours."""
    if visit.begins_min is None or visit.ends_min is None:
        return ""
    return _("{begins} to {ends}").format(begins=clock(visit.begins_min), ends=clock(visit.ends_min))


_TONES = {
    CheckStatus.PASSED: " tag--good",
    CheckStatus.FAILED: " tag--bad",
    CheckStatus.WAIVED: " tag--warn",
    CheckStatus.PARTLY: " tag--warn",
    CheckStatus.UNJUDGED: " tag--warn",
}


@register.filter
def tone(status: str) -> str:
    """The class that colours the tag of a check's status; its word says the same."""
    return _TONES.get(CheckStatus(status), "")
