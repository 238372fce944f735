"""The page on care: programmes side by side, in rows and in pictures."""

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest

from core.calc.format import day
from maintenance.calc.care_payload import CareKind, CareYear, Spread
from maintenance.presentation.care import COLUMNS, YEAR_COLUMNS, care_page
from maintenance.presentation.care_charts import frontier_figure, years_figure
from tests.maintenance.presentation.comparisons import (
    ADVISED,
    AGREED,
    ALL,
    CALENDAR,
    LESS,
    MORE,
    NOTHING,
    SOURCE,
    UNTESTED,
    comparison,
    outcome,
)

SURFACE = SimpleNamespace(area_m2=1000.0, organisation=SimpleNamespace(currency="EUR"))
ALONG = "As advised, for what a year within is worth"


def page_of(compared=None, price="4.00", made_on=date(2026, 6, 1), care_on=None, units="si"):
    outlook = SimpleNamespace(care=compared or comparison(), care_on=care_on)
    return care_page(SURFACE, SimpleNamespace(outlook=outlook, made_on=made_on), Decimal(price), units)


@pytest.mark.parametrize(
    "forecast",
    [
        None,
        SimpleNamespace(outlook=None, made_on=date(2026, 6, 1)),
        SimpleNamespace(outlook=SimpleNamespace(care=None), made_on=date(2026, 6, 1)),
        SimpleNamespace(outlook=SimpleNamespace(care=comparison()), made_on=None),
    ],
    ids=["no forecast", "an unreadable one", "one of before care was compared", "one that never ended"],
)
def test_before_care_was_compared_there_is_no_page(forecast):
    assert care_page(SURFACE, forecast, Decimal(4), "si") is None


def test_the_page_says_from_which_day_care_was_compared_and_counts_its_years_from_it():
    page = page_of(made_on=date(2027, 1, 20), care_on=date(2026, 12, 3))

    assert page.on == day(date(2026, 12, 3))
    assert page.year_rows[0][0] == page_of(made_on=date(2026, 12, 3)).year_rows[0][0]


def roles(page):
    return [line.role for line in page.rivals]


def test_the_suggested_programme_stands_first_with_its_figures():
    line = page_of().rivals[0]

    assert (line.role, line.name) == ("Suggested", "As advised, tested when due")
    assert (line.cost_a_year, line.months_below, line.chance_within) == ("1,000 EUR", "3.0", "40\u00a0%")
    assert (line.total_10, line.total_20) == ("12,000 EUR", "20,000 EUR")


@pytest.mark.parametrize(
    ("rows", "chosen", "said"),
    [
        (ALL, ADVISED, ["Suggested", "Next best", "For comparison", "Today's practice"]),
        (ALL, NOTHING, ["Suggested", "Next best", "Today's practice"]),
        ((ADVISED, NOTHING, UNTESTED), ADVISED, ["Suggested", "Next best", "For comparison"]),
        ((ADVISED, NOTHING, AGREED), ADVISED, ["Suggested", "Next best", "For comparison"]),
        ((ADVISED, UNTESTED), ADVISED, ["Suggested", "Next best"]),
    ],
    ids=["all", "nothing suggested", "nothing agreed", "the agreement is next best", "only the rule"],
)
def test_rivals_are_named_by_their_part_and_none_twice(rows, chosen, said):
    page = page_of(comparison(*rows, chosen=chosen))

    assert roles(page) == said
    assert len({line.name for line in page.rivals}) == len(page.rivals)


def test_the_next_best_is_the_cheapest_in_all_that_does_something_and_leaves_the_sediment():
    compared = comparison(ADVISED, NOTHING, SOURCE, MORE, CALENDAR, UNTESTED)

    assert compared.next_best is UNTESTED
    assert comparison(ADVISED, NOTHING, SOURCE, MORE, CALENDAR).next_best is CALENDAR


def test_the_table_has_every_programme_the_cheapest_first():
    page = page_of()

    assert len(page.rows) == len(ALL)
    assert [row[1] for row in page.rows] == [
        "0.00 EUR",
        "400 EUR",
        "600 EUR",
        "800 EUR",
        "900 EUR",
        "1,000 EUR",
        "1,000 EUR",
        "2,500 EUR",
        "5,000 EUR",
    ]
    assert {len(row) for row in page.rows} == {len(COLUMNS)}


def test_a_row_says_the_range_the_time_within_and_what_is_done():
    (row,) = [row for row in page_of().rows if row[0].startswith("Less care")]

    assert row[2:6] == ("320 EUR to 480 EUR", "75\u00a0%", "3.0", "40\u00a0%")
    assert row[6].endswith("a test every 2 years")


def test_the_summary_says_the_cheapest_the_dearest_and_the_suggested():
    assert page_of().frontier_summary == (
        "From 0.00 EUR a year with 8\u00a0% of the time within the limit to 5,000 EUR with 75\u00a0%. "
        "Suggested: 1,000 EUR a year, 75\u00a0% within."
    )


def test_years_are_counted_from_the_day_the_forecast_was_made():
    page = page_of(made_on=date(2031, 12, 31))

    assert [row[0] for row in page.year_rows] == [str(2031 + i) for i in range(10)]
    assert page.year_rows[0] == ("2031", "550 EUR", "500 EUR to 2,000 EUR", "0.0")
    assert {len(row) for row in page.year_rows} == {len(YEAR_COLUMNS)}


def test_the_years_are_summed_up_with_the_dearest_of_them():
    assert page_of().years_summary == ("10,000 EUR over ten years, most of it in year 2035 with 1,450 EUR.")


def test_of_years_that_cost_the_same_the_first_is_named():
    even = outcome(by_year=(CareYear(Spread(200.0, 100.0, 300.0), 1.0),) * 10)

    page = page_of(comparison(NOTHING, even, UNTESTED, chosen=even))

    assert page.years_summary == "2,000 EUR over ten years, most of it in year 2026 with 200 EUR."


@pytest.mark.parametrize(("price", "other"), [("4", False), ("4.00", False), ("4.01", True), ("0", True)])
def test_a_value_that_was_set_since_is_said_to_be_another(price, other):
    assert page_of(price=price).is_of_another_value is other


# ---- Pictures ------------------------------------------------------------------------------------


def traces(compared):
    return {trace["name"]: trace for trace in frontier_figure(compared, "EUR", "si")["data"]}


def test_the_frontier_is_one_line_in_the_order_of_worth():
    line = traces(comparison(MORE, ADVISED, NOTHING, LESS))[ALONG]

    assert list(line["x"]) == [400.0, 1000.0, 2500.0]
    assert line["mode"] == "lines+markers"
    assert [text.partition(",")[0] for text in line["text"]] == ["Less care", "As advised", "More care"]


def test_every_programme_is_one_point_of_the_picture():
    drawn = traces(comparison())

    points = sum(len(trace["x"]) for name, trace in drawn.items() if name != "Suggested")
    assert points == len(ALL)
    assert set(drawn) == {
        ALONG,
        "By calendar",
        "As agreed today",
        "Nothing",
        "Sediment stopped first",
        "Without tests",
        "Suggested",
    }


def test_what_was_not_compared_has_no_place_in_the_legend():
    assert set(traces(comparison(ADVISED, NOTHING))) == {ALONG, "Nothing", "Suggested"}


def test_kinds_are_told_apart_by_their_mark_and_not_by_colour_alone():
    marks = [trace["marker"]["symbol"] for name, trace in traces(comparison()).items() if name != "Suggested"]

    assert len(set(marks)) == len(marks)


@pytest.mark.parametrize("chosen", [ADVISED, NOTHING, UNTESTED, MORE])
def test_the_mark_of_the_suggested_programme_lies_on_its_point(chosen):
    mark = traces(comparison(chosen=chosen))["Suggested"]

    assert (list(mark["x"]), list(mark["y"])) == (
        [chosen.cost_a_year.mean],
        [pytest.approx(100 * chosen.share_within)],
    )


def test_the_axes_name_the_currency():
    figure = frontier_figure(comparison(), "CHF", "si")

    assert figure["layout"]["xaxis"]["title"]["text"] == "Works and tests, CHF a year"
    assert all("CHF" in t["hovertemplate"] for t in figure["data"] if t["name"] != "Suggested")


def test_the_bars_of_the_years_reach_from_the_low_to_the_high_end():
    (bars,) = years_figure(outcome(), 2026, "EUR")["data"]

    assert list(bars["x"]) == list(range(2026, 2036))
    assert bars["y"][3] == pytest.approx(850.0)
    assert bars["error_y"]["array"][3] == pytest.approx(1150.0)
    assert bars["error_y"]["arrayminus"][3] == pytest.approx(350.0)


def test_a_mean_above_its_range_has_no_bar_that_points_the_wrong_way():
    rare = outcome(by_year=(CareYear(Spread(50.0, 0.0, 0.0), 0.0), CareYear(Spread(0.0, 0.0, 80.0), 0.0)))

    (bars,) = years_figure(rare, 2026, "EUR")["data"]

    assert list(bars["error_y"]["array"]) == [0.0, 80.0]
    assert list(bars["error_y"]["arrayminus"]) == [50.0, 0.0]


def test_the_savings_of_tests_and_of_the_source_are_differences_of_totals():
    compared = comparison()

    assert compared.test_saves == pytest.approx(700.0)
    assert compared.source_saves == pytest.approx(7500.0)
    assert comparison(ADVISED, NOTHING).test_saves is None
    assert comparison(ADVISED, NOTHING).source_saves is None
    assert compared.of(CareKind.SOURCE) is SOURCE


def test_words_table_and_picture_of_a_reader_in_us_customary_units_name_ft2_alone():
    page = page_of(comparison(LESS, ADVISED, MORE, chosen=MORE), units="us")

    words = " ".join((page.lead, *page.changes, *(line.name for line in page.rivals), *map(str, page.rows)))
    picture = str(page.frontier)
    for said in (words, picture):
        assert "ft²" in said
        assert " m²" not in said
    assert page.rivals[0].worth == page_of(comparison(LESS, ADVISED, MORE, chosen=MORE)).rivals[0].worth
