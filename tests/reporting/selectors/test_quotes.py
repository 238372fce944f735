"""A version of a quote gathered for its paper."""

from datetime import timedelta
from decimal import Decimal

from accounts.calc.audience import Audience
from planning.calc.quotes import QuoteUnit, Sums
from planning.calc.vocabulary import QuoteState
from reporting.calc.quotes import QuotedLine
from reporting.selectors.quotes import quote_snapshot
from tests.clock import TODAY
from tests.factories import QuoteLineFactory, QuoteVersionFactory, SiteFactory


def snapshot_of(version, today=TODAY):
    return quote_snapshot(version, Audience.OWNER, today)


def test_the_lines_stand_in_their_order_with_their_amounts(firm):
    version = QuoteVersionFactory(quote__owner=firm.owner)
    QuoteLineFactory(
        version=version, position=2, what="Second", why="", quantity=1, unit="lump_sum", unit_price=None
    )
    QuoteLineFactory(version=version, position=1, quantity=Decimal("0.5"), unit_price=Decimal("0.05"))

    assert snapshot_of(version).lines == (
        QuotedLine(
            "Clean: vacuum sweeping",
            "It clogs.",
            Decimal("0.5"),
            QuoteUnit.M2,
            Decimal("0.05"),
            Decimal("0.03"),
        ),
        QuotedLine("Second", "", Decimal(1), QuoteUnit.LUMP_SUM, None, Decimal(0)),
    )


def test_each_site_is_named_once_and_lines_by_hand_name_none(firm):
    version = QuoteVersionFactory(quote__owner=firm.owner)
    other = SiteFactory(owner=firm.owner, name="A first site")
    for position, site in enumerate((firm.site, firm.site, other, None), start=1):
        QuoteLineFactory(version=version, position=position, site=site)

    assert snapshot_of(version).sites == ("A first site", firm.site.name)


def test_the_sums_are_those_that_were_stored(firm):
    version = QuoteVersionFactory(quote__owner=firm.owner)

    found = snapshot_of(version)

    assert found.sums == Sums(Decimal(500), Decimal(95), Decimal(595))
    assert (found.tax.name, found.tax.percent, found.tax.is_included) == ("VAT", Decimal(19), False)


def test_what_was_sent_is_dated_by_that_day_and_a_draft_by_the_day_of_its_paper(firm):
    sent = QuoteVersionFactory(quote__owner=firm.owner)
    draft = QuoteVersionFactory(quote__owner=firm.owner, state="draft", sent_at=None)
    later = TODAY + timedelta(days=3)

    assert snapshot_of(sent, later).on == TODAY
    assert snapshot_of(draft, later).on == later


def test_it_tells_how_the_version_stands_on_the_day(firm):
    version = QuoteVersionFactory(quote__owner=firm.owner, valid_until=TODAY)

    assert snapshot_of(version).state is QuoteState.SENT
    assert snapshot_of(version, TODAY + timedelta(days=1)).state is QuoteState.EXPIRED
    assert snapshot_of(version).answered == ""
