"""A quote on paper: its lines and sums, on the sheet and in the units of who reads, tagged for a screen reader."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.audience import Audience
from core.calc.format import day
from planning.calc.quotes import QuoteUnit, Sums, Tax
from planning.presentation.quotes import quantity_words, sum_words
from reporting.presentation.quotes import quote_words
from reporting.selectors.quotes import quote_snapshot
from tests.clock import TODAY
from tests.factories import QuoteLineFactory, QuoteVersionFactory
from tests.reporting.papers import facts_of, quote_of, words_of


@pytest.fixture
def version(firm):
    """1,000 m² at 0.50 and a sign of 3 kg at 0.125: 500.38 net, 95.07 of tax."""
    row = QuoteVersionFactory(
        quote__owner=firm.owner,
        quote__number=12,
        note="Gladly.\nBy hand.",
        net=Decimal("500.38"),
        tax=Decimal("95.07"),
        total=Decimal("595.45"),
    )
    QuoteLineFactory(version=row, surface=firm.surface, site=firm.site)
    QuoteLineFactory(
        version=row, position=2, what="Chips", why="", quantity=3, unit="kg", unit_price=Decimal("0.125")
    )
    return row


def test_the_paper_names_lines_sums_and_until_when_it_holds(firm, version, tmp_path, settings):
    settings.DEMO_NOTICE = "Invented demonstration data."

    words = words_of(quote_of(version), tmp_path)

    for said in (
        f"Quote {TODAY.year}-0012 v1",
        firm.organisation.name,
        firm.owner.name,
        firm.site.name,
        "Invented demonstration data.",
        "Clean: vacuum sweeping 1,000 m² 0.50 EUR 500.00 EUR",
        "It clogs.",
        "Chips 3 kg 0.125 EUR 0.38 EUR",
        "Net 500.38 EUR",
        "VAT 19 % 95.07 EUR",
        "Total 595.45 EUR",
        "Gladly.",
        "Sent",
        "Local codes and the stormwater authority prevail",
        "Page 1 of 1",
    ):
        assert said in words, said


@pytest.mark.parametrize(("units", "sheet"), [("si", "A4"), ("us", "letter")])
def test_it_is_a_tagged_paper_on_the_sheet_usual_with_the_units(version, tmp_path, units, sheet):
    facts = facts_of(quote_of(version, units), tmp_path)

    assert (facts["Tagged"], facts["Pages"]) == ("yes", "1")
    assert sheet in facts["Page size"]
    assert facts["Title"] == f"{version} for {version.quote.owner}"


def test_in_us_units_the_charged_quantity_stays_and_its_size_stands_beside_it(version, tmp_path):
    words = words_of(quote_of(version, "us"), tmp_path)

    assert "1,000 m² (10 800 ft²)" in words or "1,000 m² (10800 ft²)" in words
    assert "3 kg (6.61 lb)" in words
    assert "0.50 EUR 500.00 EUR" in words


def test_a_draft_says_that_it_is_no_offer_and_shows_what_has_no_price(version, tmp_path):
    version.state, version.sent_at = "draft", None
    version.save()
    version.lines.filter(what="Chips").update(unit_price=None)

    words = words_of(quote_of(version), tmp_path)

    assert "no offer until it is sent" in words
    assert "Chips 3 kg – –" in words


def test_who_answered_is_told_to_those_who_may_read_names(firm, version):
    version.state, version.decided_by, version.decided_at = "approved", firm.owner_person, now()
    version.decided_on = TODAY
    version.save()

    said = {
        audience: quote_words(quote_snapshot(version, audience, TODAY), "si")["state"]
        for audience in Audience
    }

    named = f"Approved by {firm.owner_person} on {day(TODAY)}"
    assert said == {Audience.FIRM: named, Audience.OWNER: named, Audience.LINK: "Approved"}


def test_a_paper_of_yesterdays_offer_says_that_it_ran_out(version, tmp_path):
    late = version.valid_until + timedelta(days=1)

    assert "Expired" in words_of(quote_of(version, today=late), tmp_path)


def test_many_lines_go_on_over_pages_and_odd_signs_are_named(version, tmp_path):
    for position in range(3, 70):
        QuoteLineFactory(version=version, position=position, what=f"Bay {position} \U0001f9f9")

    pdf = quote_of(version)

    assert int(facts_of(pdf, tmp_path)["Pages"]) > 1
    assert "Bay 69" in words_of(pdf, tmp_path)


def test_the_owner_takes_the_paper_away(client, firm, version):
    client.force_login(firm.owner_person)

    answer = client.get(reverse("reporting:quote-download", args=[version.pk]))

    assert answer.content.startswith(b"%PDF")
    assert f"quote-{TODAY.year}-0012-v1.pdf" in answer["Content-Disposition"]
    assert (
        reverse("reporting:quote-download", args=[version.pk])
        in client.get(version.get_absolute_url()).content.decode()
    )


@pytest.mark.parametrize(
    ("quantity", "unit", "si", "us"),
    [
        ("1320.50", QuoteUnit.M2, "1,320.5 m²", "1,320.5 m² (14 200 ft²)"),
        ("14200", QuoteUnit.FT2, "14,200 ft² (1320 m²)", "14,200 ft²"),
        ("100", QuoteUnit.LB, "100 lb (45.4 kg)", "100 lb"),
        ("1.00", QuoteUnit.CALL_OUT, "1 call-out", "1 call-out"),
        ("100", QuoteUnit.LUMP_SUM, "100 lump sum", "100 lump sum"),
        ("2.50", QuoteUnit.HOUR, "2.5 h", "2.5 h"),
    ],
)
def test_quantities_in_words(quantity, unit, si, us):
    found = [quantity_words(Decimal(quantity), unit, units) for units in ("si", "us")]

    assert [
        text.replace("\u202f", " ").replace("\u00a0", " ").replace("14200", "14 200") for text in found
    ] == [si, us]


def test_sums_in_words_say_whether_the_tax_is_held_in_them():
    sums = Sums(Decimal("84.03"), Decimal("15.97"), Decimal("100.00"))

    held = sum_words(sums, Tax("VAT", Decimal(19), is_included=True), "EUR")
    none = sum_words(sums, Tax("", Decimal(0), is_included=False), "EUR")

    assert held == [("Net", "84.03 EUR"), ("VAT 19\u00a0%, included", "15.97 EUR"), ("Total", "100.00 EUR")]
    assert none == [("Total", "100.00 EUR")]
