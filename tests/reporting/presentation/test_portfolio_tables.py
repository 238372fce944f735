"""Every list of a portfolio as rows of a file: numbers as numbers, in the reader's units, and none left out."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from math import log
from uuid import UUID

import pytest

from accounts.calc.audience import Audience
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from reporting.calc.parts import StateCount
from reporting.calc.portfolio import DueCount, Grouping, QuarterShare, Spread, StateGroup
from reporting.calc.portfolio_snapshot import MapSite, PortfolioSnapshot, SpentYear
from reporting.calc.values import Money
from reporting.presentation.portfolio_tables import as_times, tables

BELOW, SOON, WELL = SurfaceState.BELOW_LIMIT, SurfaceState.CLEAN_SOON, SurfaceState.DRAINING


def group(name, areas):
    return StateGroup(
        name,
        {state: int(state in areas) for state in WORST_FIRST},
        {state: areas.get(state, 0.0) for state in WORST_FIRST},
    )


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
FOUND = replace(
    EMPTY,
    surfaces=3,
    area_m2=2787.0912,
    states=(StateCount(BELOW, 1), StateCount(WELL, 2)),
    groups=(group("Town", {BELOW: 92.90304, WELL: 185.80608}), group("School", {SOON: 929.0304})),
)


def rows(key, found, units="si"):
    return [tuple(row) for row in tables(found, units)[key].rows]


def test_states_are_counted_in_columns_the_worst_first_with_the_area_below_the_limit_last():
    made = tables(FOUND, "si")["states"]

    assert list(made.headers) == [
        "Owner",
        "below limit",
        *(state.label for state in WORST_FIRST[1:]),
        "surfaces",
        "area (m²)",
        "area below its limit (m²)",
    ]
    assert rows("states", FOUND) == [
        ("Town", 1, 0, 0, 0, 1, 2, 278.7, 92.9),
        ("School", 0, 1, 0, 0, 0, 1, 929.0, 0.0),
    ]


def test_areas_are_in_the_units_that_their_head_names():
    """An area of 92.903 04 m² is 1000 square feet."""
    made = tables(FOUND, "us")["states"]

    assert list(made.headers[-2:]) == ["area (ft²)", "area below its limit (ft²)"]
    assert tuple(made.rows[0][-2:]) == (3000.0, 1000.0)


def test_a_site_has_its_position_as_numbers():
    site = MapSite(UUID(int=1), "Quay, north", 47.5, -8.25, SOON, 4)

    assert rows("sites", replace(FOUND, sites=(site,))) == [("Quay, north", SOON.label, 4, 47.5, -8.25)]


def test_what_is_due_stands_with_what_is_planned_and_nought_as_a_number():
    assert rows("due", replace(FOUND, due=(DueCount("Test, advised", 0, 2, 3, 1),))) == [
        ("Test, advised", 0, 2, 3, 1)
    ]


def test_a_quarter_has_its_last_day_and_its_share_in_full():
    quarter = QuarterShare(date(2026, 3, 31), 1.0, 3.0, 2)

    assert rows("trend", replace(FOUND, trend=[quarter])) == [("Q1 2026", "2026-03-31", 1 / 3, 2)]


def test_each_currency_of_a_year_has_a_row_of_its_own():
    spent = SpentYear(2025, 3, (Money(Decimal("10.50"), "CHF"), Money(Decimal("20"), "EUR")), 1)

    assert rows("spent", replace(FOUND, spent=(spent,))) == [
        (2025, 3, 10.5, "CHF", 1),
        (2025, 3, 20.0, "EUR", 1),
    ]


def test_a_year_whose_cleanings_have_no_price_is_not_left_out():
    years = (SpentYear(2026, 2, (), 2), SpentYear(2025, 1, (Money(Decimal(5), "EUR"),), 0))

    assert rows("spent", replace(FOUND, spent=years)) == [(2026, 2, None, "", 2), (2025, 1, 5.0, "EUR", 0)]


def test_a_group_too_small_to_say_anything_keeps_its_number_and_has_empty_cells():
    found = replace(FOUND, declines=[Spread("Open gravel", 4), Spread("Porous asphalt", 9, 12.0, 4.5, 30.0)])

    assert rows("types", found) == [
        ("Open gravel", 4, None, None, None),
        ("Porous asphalt", 9, 12.0, 4.5, 30.0),
    ]


def test_what_cleanings_gave_is_told_as_times_the_rate():
    gains = [Spread("Vacuum sweeping", 5, log(2.0), log(0.5), log(8.0)), Spread("Broom", 1)]

    first, second = rows("gains", replace(FOUND, gains=gains))

    assert first == ("Vacuum sweeping", 5, pytest.approx(2.0), pytest.approx(0.5), pytest.approx(8.0))
    assert second == ("Broom", 1, None, None, None)
    assert as_times(gains)[1] == gains[1]


def test_a_median_without_gain_is_once_the_rate_and_not_missing():
    (row,) = as_times([Spread("Broom", 5, 0.0, 0.0, 0.0)])

    assert (row.median, row.low, row.high) == (1.0, 1.0, 1.0)


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("found", [EMPTY, FOUND])
def test_every_row_has_a_cell_for_each_column(found, units):
    full = replace(
        found,
        sites=(MapSite(UUID(int=1), "A", 1.0, 2.0, WELL, 1),),
        due=(DueCount("x", 1, 2, 3, 4),),
        trend=[QuarterShare(date(2026, 3, 31), 0.0, 0.0, 0)],
        spent=(SpentYear(2026, 1, (), 1),),
        declines=[Spread("a", 1)],
        conditions=[Spread("b", 1)],
        gains=[Spread("c", 1)],
    )

    for key, table in tables(full, units).items():
        assert all(len(row) == len(table.headers) for row in table.rows), key


def test_units_that_nobody_knows_are_refused():
    with pytest.raises(ValueError, match="imperial"):
        tables(FOUND, "imperial")
