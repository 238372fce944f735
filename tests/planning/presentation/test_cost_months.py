"""The page of cost and price by month: figures, chart and tables say the same."""

from datetime import date
from decimal import Decimal

import pytest

from planning.calc.cost_months import Entry, Part, cost_months
from planning.presentation.cost_months import cell, cost_page, export_rows
from tests.sums import sides

JAN, FEB, MAR = (date(2026, month, 1) for month in (1, 2, 3))


@pytest.fixture
def found():
    return cost_months(
        [
            Entry(JAN, "Ash", Part.DONE, Decimal("1200.40"), Decimal("300")),
            Entry(JAN, "Birch", Part.DONE, None, None),
            Entry(FEB, "Birch", Part.AHEAD, Decimal("99.60"), Decimal("40")),
            Entry(FEB, "Ash", Part.AGREEMENT, Decimal("50"), None),
        ],
        JAN,
        MAR,
    )


@pytest.fixture
def page(found):
    return cost_page(found, "EUR")


def test_the_figures_are_the_sums_of_the_parts(page):
    said = [(figure.value, figure.range) for figure in page.figures]

    assert said == [
        ("1,200 EUR", "cost 300 EUR"),
        ("99.60 EUR", "cost 40.00 EUR"),
        ("50.00 EUR", "a twelfth of the yearly price each month"),
        ("1,350 EUR", "cost 340 EUR"),
    ]


def test_the_sums_are_worked_through_part_by_part(page):
    lines = (page.worked.with_numbers, *page.worked.then)

    for line in lines:
        step, shown = sides(line)
        assert step == pytest.approx(shown)
    assert [sides(line)[1] for line in lines] == [1350.0, 340.0, 1010.0]
    assert "1,200.40 + 99.60 + 50.00" in lines[0]


def test_what_is_not_known_is_counted(page):
    assert page.unknown == "Not in these sums: 1 work without a known price and 1 work without a known cost."


def test_nothing_is_said_where_all_is_known():
    whole = cost_months([Entry(JAN, "Ash", Part.DONE, Decimal(1), Decimal(1))], JAN, JAN)

    assert cost_page(whole, "EUR").unknown == ""


def test_the_chart_stacks_the_parts_with_the_cost_as_a_line(page):
    bars, lines = ([t for t in page.chart.figure["data"] if t["type"] == kind] for kind in ("bar", "scatter"))

    assert {bar["name"]: bar["y"] for bar in bars} == {
        "Done": [1200.4, 0.0, 0.0],
        "Planned": [0.0, 99.6, 0.0],
        "Agreements": [0.0, 50.0, 0.0],
    }
    assert lines[0]["y"] == [300.0, 40.0, 0.0]
    assert lines[0]["x"] == ["Jan 2026", "Feb 2026", "Mar 2026"]
    assert page.chart.figure["layout"]["barmode"] == "stack"


def test_the_numbers_of_the_chart_are_a_table(page):
    assert page.chart.columns == (
        "Month, EUR",
        "Done",
        "Planned",
        "Agreements",
        "Price in all",
        "Cost to the firm",
    )
    assert page.chart.rows == [
        ["Jan 2026", "1,200", "–", "–", "1,200", "300"],
        ["Feb 2026", "–", "100", "50", "150", "40"],
        ["Mar 2026", "–", "–", "–", "–", "–"],
    ]


def test_each_owner_has_a_row_and_the_last_row_and_column_are_totals(page):
    (title, columns, prices), (_, _, costs) = page.tables

    assert (title, columns) == (
        "Price by owner, EUR",
        ("Owner", "Jan 2026", "Feb 2026", "Mar 2026", "In all"),
    )
    assert prices == [
        ["Ash", "1,200", "50", "–", "1,250"],
        ["Birch", "–", "100", "–", "100"],
        ["All owners", "1,200", "150", "–", "1,350"],
    ]
    assert costs[-1] == ["All owners", "300", "40", "–", "340"]


def test_the_rows_of_a_file_are_plain_numbers_in_the_order_of_months(found):
    assert list(export_rows(found, "EUR")) == [
        ("2026-01", "Ash", "Done", 1200.4, 300.0, "EUR", 0, 0),
        ("2026-01", "Birch", "Done", 0.0, 0.0, "EUR", 1, 1),
        ("2026-02", "Ash", "Agreements", 50.0, 0.0, "EUR", 0, 0),
        ("2026-02", "Birch", "Planned", 99.6, 40.0, "EUR", 0, 0),
    ]


@pytest.mark.parametrize(
    ("amount", "said"), [("0", "–"), ("0.4", "0"), ("1234567.5", "1,234,568"), ("12", "12")]
)
def test_a_cell_is_whole_and_nothing_is_a_dash(amount, said):
    assert cell(Decimal(amount)) == said
