"""The page of a portfolio in words and pictures: what it counts, what it cannot say, and what owners are not told."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from math import log
from uuid import UUID

import pytest
from django.utils.html import strip_tags

from accounts.calc.audience import Audience
from core.presentation.plotting import Figure as Plot
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from planning.calc.cost_months import cost_months
from reporting.calc.parts import StateCount
from reporting.calc.portfolio import FEWEST, DueCount, Grouping, QuarterShare, Spread, StateGroup
from reporting.calc.portfolio_snapshot import Hours, MapSite, PortfolioSnapshot, SpentYear
from reporting.calc.values import Money
from reporting.presentation.portfolio import LOOKS, MOST_GROUPS, TOO_FEW, portfolio_page

BELOW, SOON, WATCH, UNTESTED, WELL = WORST_FIRST


def group(name, **counts):
    full = {state: counts.get(state.value, 0) for state in WORST_FIRST}
    return StateGroup(name, full, {state: 100.0 * count for state, count in full.items()})


EMPTY = PortfolioSnapshot(
    audience=Audience.FIRM,
    today=date(2026, 6, 10),
    surfaces=0,
    area_m2=0.0,
    states=(),
    by=Grouping.OWNER,
    groups=(),
    sites=(),
    unplaced=(),
    due=(),
    trend=(),
)


def page(units="si", addresses=None, **changes):
    return portfolio_page(replace(EMPTY, **changes), units, addresses or {})


def told(figures):
    return [(one.label, str(one.value), strip_tags(one.range).replace("\xa0", " ")) for one in figures]


def bars(chart):
    """Of the chart's stacked bars: name, lengths."""
    return {trace["name"]: trace["x"] for trace in chart.figure["data"]}


# ---- Figures ----


def test_the_page_begins_with_how_many_there_are_and_what_is_worst():
    found = page(
        surfaces=8,
        area_m2=1250.0,
        states=(StateCount(BELOW, 2), StateCount(SOON, 1), StateCount(WELL, 5)),
        due=(DueCount("Test", 3, 9, 9, 9), DueCount("Inspection", 1, 0, 0, 0)),
    )

    assert told(found.figures) == [
        ("Surfaces in use", "8", "1250 m²"),
        ("Below limit", "2", "25 % of all"),
        (SOON.label.capitalize(), "1", "12 % of all"),
        ("Tests and inspections late", "4", "of those not yet planned"),
    ]


def test_areas_are_told_in_the_units_of_the_reader():
    ((_, _, note), *_) = told(page("us", area_m2=92.90304, surfaces=1).figures)

    assert note == "1000 ft²"


def test_a_portfolio_without_a_surface_has_a_page_that_says_nought():
    found = page()

    assert told(found.figures)[0] == ("Surfaces in use", "0", "0 m²")
    assert found.trend is None
    assert list(found.clogging) == []
    assert (list(found.money), found.money_chart, list(found.spent), found.unplaced) == ([], None, [], "")
    assert found.states.chart.figure["data"] == []
    assert found.states.chart.summary == "No surface lies below its limit."


# ---- How they stand ----


def test_each_state_is_a_bar_with_its_own_colour_and_hatch_and_none_that_nobody_is_in():
    chart = page(groups=(group("Town", below_limit=2, draining=3), group("School", draining=1))).states.chart

    assert bars(chart) == {"below limit": [2, 0], WELL.label: [3, 1]}
    below, well = chart.figure["data"]
    assert below["marker"]["pattern"]["shape"] != well["marker"]["pattern"]["shape"]
    assert chart.figure["layout"]["barmode"] == "stack"


def test_no_two_states_look_alike_even_without_colours():
    assert len({hatch for _, hatch in LOOKS.values()}) == len(SurfaceState)
    assert len({colour for colour, _ in LOOKS.values()}) == len(SurfaceState)


def test_its_table_tells_the_same_with_a_dash_for_nobody():
    chart = page(groups=(group("Town", below_limit=2, draining=3),)).states.chart

    assert chart.columns == ("Owner", *(state.label for state in WORST_FIRST), "In all")
    assert chart.rows == [("Town", 2, "–", "–", "–", 3, 5)]


def test_of_very_many_groups_the_largest_are_drawn_and_the_table_has_all():
    groups = [group(f"Owner {n:02}", draining=n + 1) for n in range(MOST_GROUPS + 3)]

    chart = page(groups=groups).states.chart

    drawn = chart.figure["data"][0]["y"]
    assert len(drawn) == MOST_GROUPS
    assert "Owner 22" in drawn
    assert not {"Owner 00", "Owner 01", "Owner 02"} & set(drawn)
    assert len(chart.rows) == MOST_GROUPS + 3
    assert chart.summary.endswith(f"The {MOST_GROUPS} largest of {MOST_GROUPS + 3}; the table has all.")


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([0, 0], "No surface lies below its limit."),
        ([1, 0], "1 surface below the limit."),
        ([2, 2], "4 surfaces below the limit."),
        ([1, 1, 1], "3 surfaces below the limit."),
        ([0, 5, 1], "6 surfaces below the limit. Most of them: G1, 5."),
    ],
)
def test_where_most_lie_below_is_said_only_where_one_group_stands_out(numbers, said):
    groups = [group(f"G{n}", below_limit=count) for n, count in enumerate(numbers)]

    assert page(groups=groups).states.chart.summary == said


def test_a_group_with_more_than_others_but_not_half_has_not_most_of_them():
    groups = [group(f"G{n}", below_limit=count) for n, count in enumerate((3, 2, 2, 2))]

    said = page(groups=groups).states.chart.summary

    assert said == "9 surfaces below the limit. More than in any other: G0, 3."


# ---- The map, what is due ----


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ((), ""),
        (("Quay",), "Without a position, so not on it: Quay."),
        (tuple("abcde"), "Without a position, so not on it: a, b, c, d, e."),
        (tuple("abcdef"), "6 sites without a position are not on it."),
    ],
)
def test_sites_that_the_map_cannot_show_are_named_while_they_are_few(names, said):
    assert page(unplaced=names).unplaced == said


def test_a_site_on_the_map_leads_to_its_page():
    site = MapSite(UUID(int=7), "Quay & Co <x>", 47.5, 8.25, BELOW, 4)

    drawn = page(sites=(site,), addresses={site.key: "/sites/7/"}).map

    assert "/sites/7/" in str(drawn)
    assert "<x>" not in drawn.svg


def test_what_is_due_has_a_dash_for_nothing():
    assert page(due=(DueCount("Test", 0, 2, 0, 11),)).due == [["Test", "–", "2", "–", "11"]]


# ---- Through the quarters ----


def test_the_trend_is_drawn_in_percent_and_summed_up_from_its_first_to_its_last_quarter():
    quarters = [
        QuarterShare(date(2025, 12, 31), 10.0, 100.0, 1),
        QuarterShare(date(2026, 3, 31), 60.0, 240.0, 3),
    ]

    chart = page(trend=quarters).trend.chart

    (trace,) = chart.figure["data"]
    assert (trace["x"], trace["y"]) == (["Q4 2025", "Q1 2026"], [10.0, 25.0])
    assert chart.summary.replace("\xa0", " ") == (
        "25 % of the tested area below its limit at the end of Q1 2026, after 10 % at the end of Q4 2025. "
        "3 surfaces tested so far."
    )
    assert [row[2] for row in chart.rows] == [1, 3]


# ---- What clogs ----


def test_a_spread_is_drawn_with_its_middle_four_fifths_about_the_median():
    rows = [Spread("Porous asphalt", 9, 12.0, 4.5, 30.0), Spread("Open gravel", FEWEST - 1)]

    (part,) = page(declines=rows).clogging

    (trace,) = part.chart.figure["data"]
    assert (trace["x"], trace["y"]) == ([12.0], ["Porous asphalt (9)"])
    assert (trace["error_x"]["arrayminus"], trace["error_x"]["array"]) == ([7.5], [18.0])
    assert part.chart.rows == [
        ("Porous asphalt", 9, "12", "4.5 to 30"),
        ("Open gravel", FEWEST - 1, "–", TOO_FEW.format(number=FEWEST)),
    ]


def test_where_every_group_is_too_small_nothing_is_drawn_and_it_is_said():
    (part,) = page(conditions=[Spread("No trees", 1)]).clogging

    assert part.key == "conditions"
    assert part.chart.figure["data"] == []
    assert part.chart.summary == f"No group has {FEWEST} yet, so none is shown."


def test_gains_are_factors_on_the_page_as_in_its_file():
    (part,) = page(gains=[Spread("Broom", 5, log(2.0), log(1.0), log(4.0))]).clogging

    assert part.chart.rows == [("Broom", 5, "2", "1 to 4")]
    assert part.chart.figure["data"][0]["x"] == [pytest.approx(2.0)]


def test_parts_of_what_clogs_stand_in_their_order_each_with_how_it_was_worked_out():
    some = [Spread("x", 5, 1.0, 1.0, 1.0)]

    found = page(declines=some, conditions=some, gains=some).clogging

    assert [part.key for part in found] == ["types", "conditions", "gains"]
    assert all("model" in part.about for part in found[:2])
    assert "not chosen by lot" in found[2].about


# ---- Money and hours ----


def test_an_owner_reads_what_was_spent_and_advised_and_no_cost_of_the_firm():
    found = page(
        audience=Audience.OWNER,
        ahead=(Money(Decimal("1234.50"), "EUR"), Money(Decimal(80), "CHF")),
        spent=(
            SpentYear(2026, 3, (Money(Decimal("10.5"), "CHF"), Money(Decimal(1200), "EUR")), 1),
            SpentYear(2025, 1, (), 1),
            SpentYear(2024, 2, (Money(Decimal(5), "EUR"),), 0),
        ),
    )

    assert told(found.money) == [
        ("Advised to you and not yet done", "1,234 EUR, 80.00 CHF", "as released, without agreements")
    ]
    assert found.spent == [
        ["2026", "3", "10.50 CHF, 1,200.00 EUR", "1"],
        ["2025", "1", "–", "1"],
        ["2024", "2", "5.00 EUR", "–"],
    ]
    assert found.money_chart is None


def test_hours_say_how_many_tasks_nobody_told_of():
    whole = page(hours=Hours(12.25, 7, 0, 40.0)).money
    holes = page(hours=Hours(12.25, 7, 1, 40.0)).money

    assert told(whole)[0] == ("Hours on site, last 12 months", "12.2", "as told, 7 tasks")
    assert told(holes)[0][2] == "as told, 7 tasks; of 1 task nobody told"
    assert told(whole)[1][:2] == ("Hours of advised work ahead", "40")


def test_costs_of_a_firm_without_any_work_are_shown_as_such():
    costs = cost_months([], date(2026, 1, 1), date(2026, 3, 31))

    found = page(costs=costs, currency="EUR")

    assert found.money
    assert found.money_chart is not None


# ---- All charts ----


def test_every_chart_is_one_that_the_chart_library_takes(monkeypatch):
    some = [Spread("x", 5, 1.0, 0.5, 2.0)]
    made = []
    plain = Plot.plain
    monkeypatch.setattr(Plot, "plain", lambda self: made.append(plain(self)) or made[-1])

    page(
        groups=(group("Town", below_limit=2),),
        trend=[QuarterShare(date(2026, 3, 31), 0.0, 5.0, 1)],
        declines=some,
        gains=some,
    )

    assert len(made) == 4
    assert all(one["data"] for one in made)
