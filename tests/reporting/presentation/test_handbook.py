"""The handbook on paper: its promise to screen readers, its length, and figures from the code that works with them."""

import re
from dataclasses import replace
from datetime import date

import pytest

from accounts.calc.roles import Role
from core.calc.glossary import TERMS
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem, rounded_for_reading
from maintenance.calc.costs import DEFAULT_TERMS, cleaning_cost
from maintenance.calc.vocabulary import WORST_FIRST
from qa.calc import counts, ring
from qa.calc.effects import CONSEQUENCES
from qa.calc.methods import METHODS
from reporting.calc import handbook_example
from reporting.presentation.handbook import book
from reporting.presentation.handbook.blocks import Kind
from reporting.presentation.pdf import pdf_of
from tests.reporting.papers import facts_of, words_of
from tests.reporting.structure import structure_of

ON = date(2026, 6, 10)


def paper(units="si", currency="EUR"):
    made = book.handbook(units, currency, for_paper=True)
    return pdf_of(book.handbook_paper(made, "Test Firm", ON))


def said(units="si", currency="EUR"):
    """All that the chapters say, one sentence after another."""
    chapters = book.handbook(units, currency, for_paper=False).chapters
    blocks = [block for chapter in chapters for block in chapter.blocks]
    return " ".join(" ".join([block.text, *(" ".join(row) for row in block.rows)]) for block in blocks)


@pytest.fixture(scope="module", params=["si", "us"])
def printed(request):
    return request.param, paper(request.param)


def test_it_is_tagged_titled_and_can_be_gone_through_by_bookmarks(printed):
    units, pdf = printed
    found = structure_of(pdf)

    assert (found.marked, found.ua_part, found.language, found.title_shown) == (True, "1", "en", True)
    assert found.pages_tagged
    assert found.title == "Handbook"
    assert found.headings[0] == 1
    assert found.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(found.headings, found.headings[1:], strict=False))
    assert found.table_headers >= found.tables
    assert len(found.figures) == 2
    chapters = [chapter.title for chapter in book.handbook(units, "EUR", for_paper=True).chapters]
    bookmarks = [re.sub(r"^\d+\s*", "", mark) for mark in found.bookmarks]
    places = [bookmarks.index(title) for title in [*chapters, book.WORDS_TITLE, book.NUMBERS_TITLE]]
    assert places == sorted(places)


def test_it_has_about_ten_pages_of_the_paper_of_its_reader(printed, tmp_path):
    units, pdf = printed

    assert 8 <= structure_of(pdf).pages <= 13
    assert facts_of(pdf, tmp_path)["Page size"].endswith("(letter)" if units == "us" else "(A4)")


def test_every_word_of_the_glossary_is_in_it(printed, tmp_path):
    text = "".join(words_of(printed[1], tmp_path).split())

    missing = [term.key for term in TERMS.values() if "".join(term.word.split()) not in text]
    assert missing == []


def test_its_pictures_say_in_words_what_they_show(printed):
    section, decline = sorted(structure_of(printed[1]).figures, key=lambda words: "scale, from" not in words)

    assert "Concrete pavers" in section
    assert "Limit " in decline
    assert "Chance of being below the limit" in decline


@pytest.mark.parametrize("system", UnitSystem)
def test_the_ring_test_stands_in_the_figures_of_its_system(system):
    p, text = ring.PROCEDURES[system], said(system.value)

    for figure in (
        f"{p.small_mass:g} {p.mass_unit}",
        f"{p.large_mass:g} {p.mass_unit}",
        f"{p.head_low:g} and {p.head_high:g} {p.length_unit}",
        f"{ring.PREWET_SWITCH_S:g} s",
    ):
        assert figure in text


def test_a_constant_that_changes_changes_the_handbook(monkeypatch):
    changed = replace(ring.PROCEDURES[UnitSystem.SI], large_mass=23.45)
    book.written.cache_clear()
    monkeypatch.setitem(ring.PROCEDURES, UnitSystem.SI, changed)
    monkeypatch.setattr(counts, "FEWEST_LOCATIONS", 5)

    chapters = book.handbook("si", "EUR", for_paper=False).chapters
    book.written.cache_clear()

    testing = next(chapter for chapter in chapters if chapter.key == "testing")
    rows = [row for block in testing.blocks for row in block.rows]
    assert any("23.45 kg" in cell for row in rows for cell in row)
    assert ("up to 2,500 m²", "5") in rows


def test_every_role_method_and_deviation_is_told():
    text = said()

    assert all(role.label in text for role in Role if role is not Role.OWNER)
    assert all(method.label in text for method in METHODS if method is not TestMethod.RING)
    assert all(each.in_short in text for each in CONSEQUENCES.values())


def test_the_worked_ring_test_is_worked_out_by_the_code_of_tests():
    for system in UnitSystem:
        _, result = handbook_example.ring_example(system)

        assert not result.deviations
        assert f"= {rounded_for_reading(result.rate)} {result.unit}" in said(system.value)


def test_the_worked_surface_is_forecast_and_priced_by_the_code_of_surfaces():
    found = handbook_example.example()
    best, text = found.holding[0], said(currency="CAD")

    assert 0.0 < found.seen.p_below_now < 0.5
    assert found.record.reach.below_50_on
    assert min(way.sight.holding_a_year for way in found.holding) == best.sight.holding_a_year
    terms = handbook_example._terms(best.method)
    assert float(terms.cost_per_m2) == float(DEFAULT_TERMS[best.method].cost_per_m2)
    assert float(cleaning_cost(terms, handbook_example.AREA_M2)) == best.sight.price
    assert (
        f"{best.method.in_sentence} keeps it within its limit for least, about {best.sight.holding_a_year:,.0f} CAD"
        in text
    )
    assert f"{best.sight.price:,.0f} CAD" in text


def test_where_somebody_can_be_hurt_a_caution_stands():
    chapters = {chapter.key: chapter for chapter in book.handbook("si", "EUR", for_paper=False).chapters}

    for key in ("building", "testing", "cleaning", "safety"):
        assert any(block.kind is Kind.CAUTION for block in chapters[key].blocks)
    safety = " ".join(" ".join(row) for block in chapters["safety"].blocks for row in block.rows)
    for word in ("Traffic", "Silica", "Hot works", "utilities", "Lifting"):
        assert word in safety


def test_sentences_fit_its_reader():
    assert "mm/h" in said("si")
    assert "in/h" not in said("si")
    assert "in/h" in said("us")


def test_each_table_is_named_by_itself():
    chapters = book.handbook("si", "EUR", for_paper=False).chapters
    names = [block.text for chapter in chapters for block in chapter.blocks if block.kind is Kind.TABLE]

    assert len(names) == len(set(names))
    assert all(names)


def test_states_stand_in_the_order_of_the_lists():
    chapters = book.handbook("si", "EUR", for_paper=False).chapters
    tables = [block for chapter in chapters for block in chapter.blocks if block.kind is Kind.TABLE]
    (states,) = (block for block in tables if block.text == "States of a surface")
    words = [state.label for state in WORST_FIRST]

    assert [row[0] for row in states.rows] == words
    assert ", ".join(words) in TERMS["state"].meaning


@pytest.mark.parametrize(
    ("units", "price", "other"), [("si", "EUR a m²", "a ft²"), ("us", "EUR a ft²", "a m²")]
)
def test_prices_and_outputs_by_area_stand_in_the_readers_units(units, price, other):
    text = said(units)

    assert price in text
    assert f"sets for each {price.split()[-1]} and year" in text
    assert other not in text
