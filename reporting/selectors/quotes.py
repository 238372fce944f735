"""A version of a quote, gathered for its paper."""

from datetime import date

from django.conf import settings
from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from core.calc.format import day
from planning.calc.quotes import QuoteUnit
from planning.models import QuoteLine, QuoteVersion
from qa.selectors.days import firm_date
from reporting.calc.quotes import QuotedLine, QuoteSnapshot


def quote_snapshot(version: QuoteVersion, audience: Audience, today: date) -> QuoteSnapshot:
    """The version as it stands on a day."""
    lines = list(version.lines.select_related("site"))
    owner = version.quote.owner
    answered = ""
    if version.decided_on:
        said = _("by {person} on {day}")
        answered = said.format(person=version.decider, day=day(version.decided_on))
    return QuoteSnapshot(
        audience=audience,
        name=str(version),
        firm=version.quote.organisation.name,
        owner=owner.name,
        owner_address=owner.address,
        sites=tuple(sorted({line.site.name for line in lines if line.site})),
        state=version.state_on(today),
        on=firm_date(version.quote.organisation, version.sent_at) if version.sent_at else today,
        valid_until=version.valid_until,
        lines=tuple(_line(line, version.currency) for line in lines),
        sums=version.sums,
        tax=version.tax_rule,
        currency=version.currency,
        note=version.note,
        answered=audience.shown(Matter.PEOPLE, answered, ""),
        demo_notice=_(settings.DEMO_NOTICE),
    )


def _line(line: QuoteLine, currency: str) -> QuotedLine:
    return QuotedLine(
        line.what, line.why, line.quantity, QuoteUnit(line.unit), line.unit_price, line.amount_in(currency)
    )
