"""Many surfaces at once: counted by group, through the quarters, and by what clogs or lasts."""

from datetime import date, timedelta
from math import exp, log
from uuid import UUID

import numpy as np
import pytest

from maintenance.calc.vocabulary import SurfaceState
from reporting.calc.portfolio import (
    FEWEST,
    CleaningRow,
    Grouping,
    RoundRow,
    SurfaceRow,
    age_band,
    decline_by_condition,
    decline_by_type,
    gains_by_method,
    quarter_ends,
    spread_of,
    states_by,
    trend,
)

TODAY = date(2026, 6, 10)
BELOW, WELL, UNTESTED = SurfaceState.BELOW_LIMIT, SurfaceState.DRAINING, SurfaceState.NOT_TESTED


def surface(number=1, **more):
    plain = SurfaceRow(
        key=UUID(int=number),
        owner="Town",
        site=UUID(int=1),
        surface_type="picp",
        area_m2=100.0,
        opened_on=date(2020, 5, 1),
        removed_on=None,
        limit_mm_h=250.0,
        run_on_area_m2=0.0,
        bare_soil=False,
        trees=False,
        winter_grit=False,
        traffic=1,
        state="draining",
        decline_percent_yr=20.0,
    )
    return plain._replace(**more)


def test_surfaces_are_counted_by_state_with_their_area_in_each_group():
    rows = [
        surface(1, state="below_limit", area_m2=50.0),
        surface(2, area_m2=30.0),
        surface(3, owner="School", state=None),
    ]

    school, town = states_by(rows, Grouping.OWNER, TODAY)

    assert (school.name, school.counts[UNTESTED], school.surfaces) == ("School", 1, 1)
    assert (town.counts[BELOW], town.counts[WELL], town.area_m2, town.areas[BELOW]) == (1, 1, 80.0, 50.0)


def test_kinds_stand_in_their_usual_order_and_those_that_nobody_has_are_left_out():
    rows = [surface(1, surface_type="gravel"), surface(2, surface_type="picp")]

    names = [group.name for group in states_by(rows, Grouping.TYPE, TODAY)]

    assert names == ["Permeable interlocking concrete pavers", "Open gravel"]


def test_ages_and_years_go_upward():
    opened = [date(2001, 1, 1), date(2026, 1, 1), date(2027, 1, 1), date(2019, 1, 1)]
    rows = [surface(i, opened_on=on) for i, on in enumerate(opened)]

    assert [group.name for group in states_by(rows, Grouping.AGE, TODAY)] == [
        "not open yet",
        "under 2 years",
        "5 to 10 years",
        "20 years and more",
    ]
    assert [group.name for group in states_by(rows, Grouping.YEAR, TODAY)] == ["2001", "2019", "2026", "2027"]


@pytest.mark.parametrize(
    ("years", "band"), [(1.99, "under 2 years"), (2.01, "2 to 5 years"), (9.9, "5 to 10 years")]
)
def test_an_age_changes_its_band_on_its_birthday(years, band):
    assert age_band(TODAY - timedelta(days=round(years * 365.25)), TODAY) == band


def test_quarters_end_on_their_last_days_and_the_last_of_them_holds_today():
    assert quarter_ends(TODAY, 3) == [date(2025, 12, 31), date(2026, 3, 31), date(2026, 6, 30)]
    assert quarter_ends(date(2026, 1, 1), 2) == [date(2025, 12, 31), date(2026, 3, 31)]


def round_of(number, on, rate, **more):
    return RoundRow(UUID(int=number), on, log(rate), **more)


def shares(surfaces, rounds, count=3):
    limits = {row.key: log(row.limit_mm_h) for row in surfaces}
    return trend(surfaces, rounds, limits, quarter_ends(TODAY, count))


def test_a_surface_stands_as_its_last_round_found_it_until_the_next():
    rounds = [round_of(1, date(2025, 11, 1), 900), round_of(1, date(2026, 3, 31), 100)]

    assert [one.share_below for one in shares([surface()], rounds)] == [0.0, 1.0, 1.0]


def test_large_surfaces_weigh_by_their_area():
    surfaces = [surface(1, area_m2=300.0), surface(2, area_m2=100.0)]
    rounds = [round_of(1, date(2025, 1, 1), 900), round_of(2, date(2025, 1, 1), 100)]

    (last,) = shares(surfaces, rounds, 1)

    assert (last.share_below, last.tested_m2, last.surfaces) == (0.25, 400.0, 2)


def test_a_surface_counts_from_its_first_test_until_it_is_removed():
    rounds = [round_of(1, date(2026, 1, 15), 100)]

    found = shares([surface(removed_on=date(2026, 5, 1))], rounds)

    assert [(one.surfaces, one.share_below) for one in found] == [(0, None), (1, 1.0), (0, None)]
    assert found[1].name == "Q1 2026"


def test_a_rate_at_the_limit_is_not_below_it():
    (last,) = shares([surface()], [round_of(1, date(2025, 1, 1), 250.0)], 1)

    assert last.share_below == 0.0


def test_a_group_is_told_by_its_median_and_middle_four_fifths():
    values = [float(value) for value in range(1, 20)]
    found = spread_of("x", values)

    # numpy's "weibull" method is the exclusive one of Hyndman and Fan (1996), number 6.
    low, middle, high = np.quantile(values, [0.1, 0.5, 0.9], method="weibull")
    assert (found.low, found.median, found.high, found.number) == pytest.approx((low, middle, high, 19))


def test_a_small_group_is_named_with_its_number_and_nothing_more():
    found = spread_of("x", [1.0] * (FEWEST - 1))

    assert (found.number, found.median, found.low, found.high) == (FEWEST - 1, None, None, None)
    assert spread_of("x", [1.0, 2.0, 3.0, 4.0, 5.0]).low >= 1.0


def test_loss_is_told_of_tested_surfaces_alone():
    rows = [surface(i) for i in range(FEWEST)]
    rows += [surface(90, state="not_tested", decline_percent_yr=90.0), surface(91, decline_percent_yr=None)]

    (found,) = decline_by_type(rows)

    assert (found.number, found.median) == (FEWEST, 20.0)


def test_each_condition_stands_beside_its_absence_and_traffic_by_its_weight():
    rows = [surface(i, trees=i % 2 == 0, run_on_area_m2=float(i), traffic=i % 3) for i in range(30)]
    rows = [row._replace(decline_percent_yr=40.0 if row.trees else 10.0) for row in rows]

    found = {one.name: one for one in decline_by_condition(rows)}

    assert (found["Trees over it"].median, found["No trees"].median) == (40.0, 10.0)
    assert (found["Ground drains on to it"].number, found["Nothing drains on to it"].number) == (29, 1)
    assert found["Nothing drains on to it"].median is None
    assert found["Traffic: lorries and buses"].number == 10
    names = list(found)
    assert names.index("No trees") == names.index("Trees over it") + 1


DAY = date(2025, 6, 1)


def gains(rounds, cleanings):
    return {one.name: one for one in gains_by_method(cleanings, rounds)}


def pair(number, factor, *, on=DAY, before=-10, after=10):
    return [
        round_of(number, on + timedelta(days=before), 200.0),
        round_of(number, on + timedelta(days=after), 200.0 * factor),
    ]


def test_what_a_cleaning_gave_is_the_first_round_after_over_the_last_before_it():
    rounds = [one for number in range(FEWEST) for one in pair(number, 3.0)]
    rounds += [round_of(n, DAY - timedelta(days=90), 5000.0) for n in range(FEWEST)]
    rounds += [round_of(n, DAY + timedelta(days=90), 1.0) for n in range(FEWEST)]
    cleanings = [CleaningRow(UUID(int=number), DAY, "vacuum") for number in range(FEWEST)]

    found = gains(rounds, cleanings)["Vacuum sweeping"]

    assert (found.number, exp(found.median)) == (FEWEST, pytest.approx(3.0))


def test_rounds_of_the_same_day_stand_before_or_after_by_what_they_were_made_for():
    rounds = [round_of(1, DAY, 100.0), round_of(1, DAY, 400.0, after_cleaning=True)]

    assert gains(rounds, [CleaningRow(UUID(int=1), DAY, "vacuum")])["Vacuum sweeping"].number == 1
    assert gains(rounds[::-1], [CleaningRow(UUID(int=1), DAY, "vacuum")])["Vacuum sweeping"].number == 1


@pytest.mark.parametrize(
    ("rounds", "more"),
    [
        (pair(1, 3.0, before=-121), []),
        (pair(1, 3.0, after=121), []),
        (pair(1, 3.0)[:1], []),
        (pair(1, 3.0)[1:], []),
        ([], []),
        (pair(1, 3.0), [CleaningRow(UUID(int=1), DAY + timedelta(days=5), "broom")]),
    ],
)
def test_a_cleaning_without_a_round_near_it_on_both_sides_or_beside_another_tells_nothing(rounds, more):
    assert gains(rounds, [CleaningRow(UUID(int=1), DAY, "vacuum"), *more]) == {}


def test_a_later_cleaning_beyond_the_next_round_takes_nothing_away():
    later = CleaningRow(UUID(int=1), DAY + timedelta(days=10), "broom")  # on the day of the round, after it

    assert "Vacuum sweeping" in gains(pair(1, 3.0), [CleaningRow(UUID(int=1), DAY, "vacuum"), later])
