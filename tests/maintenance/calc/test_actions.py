"""From forecast to action."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import (
    AgreedCare,
    Levels,
    Option,
    SurfaceStatus,
    advise,
    choose,
    keep_open,
    state_of,
)
from maintenance.calc.suitability import RESTORING, ROUTINE
from maintenance.calc.text import speak
from maintenance.calc.windows import Climate

TODAY = date(2026, 6, 1)
DAY = timedelta(days=1)
LEVELS = Levels()
FINE = SurfaceStatus(
    today=TODAY,
    opened_on=date(2020, 5, 1),
    limit_mm_h=250.0,
    rate_now_mm_h=900.0,
    share_below_now=0.01,
    alert_on=None,
    action_on=None,
    last_tested_on=TODAY - 90 * DAY,
    last_cleaned_on=None,
)


def option(method="vacuum", stays=0.9, cost="450.00", a_year="180.00"):
    return Option(
        CleaningMethod(method), 900.0, 2.5, stays, Decimal(cost), Decimal(a_year) if a_year else None
    )


def actions(status, options=(), levels=LEVELS):
    return [(piece.action, piece.window.due) for piece in advise(status, levels, options)]


@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ({}, "draining"),
        ({"last_tested_on": None, "share_below_now": 0.9}, "not_tested"),
        ({"share_below_now": 0.5}, "below_limit"),
        ({"action_on": TODAY + 182 * DAY}, "clean_soon"),
        ({"action_on": TODAY + 183 * DAY}, "draining"),
        ({"alert_on": TODAY + 365 * DAY}, "watch"),
        ({"alert_on": TODAY + 366 * DAY}, "draining"),
        ({"alert_on": TODAY, "action_on": TODAY + 10 * DAY}, "clean_soon"),
    ],
)
def test_a_surface_is_told_by_its_worst_state(changes, state):
    assert state_of(replace(FINE, **changes), LEVELS) == state


OPTIONS = st.lists(
    st.builds(
        Option,
        method=st.sampled_from(ROUTINE + RESTORING),
        rate_after_mm_h=st.floats(1.0, 5000.0),
        years_until_limit=st.floats(0.0, 10.0) | st.none(),
        share_staying_above=st.floats(0.0, 1.0),
        cost=st.decimals("1", "99999", places=2),
        cost_per_year=st.decimals("1", "99999", places=2) | st.none(),
    ),
    max_size=8,
)


@given(options=OPTIONS, wished=st.floats(0.05, 0.99))
def test_the_cheapest_method_whose_chance_suffices_is_chosen_ordinary_ones_first(options, wished):
    action, chosen, _ = choose(options, replace(LEVELS, wished_share=wished))

    good = [o for o in options if o.share_staying_above >= wished and o.cost_per_year is not None]
    ordinary = [o for o in good if o.method in ROUTINE]
    if chosen is None:
        assert (action, good) == ("look", [])
    else:
        rivals = ordinary or good
        assert action == ("clean" if ordinary else "rejoint")
        assert chosen.cost_per_year == min(o.cost_per_year for o in rivals)
        assert chosen.share_staying_above >= wished


def test_where_nothing_lasts_an_engineer_is_asked_and_the_wish_is_named():
    action, chosen, why = choose([option(stays=0.5)], LEVELS)

    assert (action, chosen) == ("look", None)
    assert "12 months" in why
    assert "80\u00a0%" in speak(why, "si")
    assert "licensed engineer" in why


def test_of_two_equal_prices_a_year_the_smaller_bill_is_taken():
    dear, cheap = option("wash_vacuum", cost="900.00"), option("vacuum", cost="450.00")

    assert choose([dear, cheap], LEVELS)[1] is cheap


def test_an_agreed_cleaning_of_an_open_surface_takes_the_method_that_lifts_fines():
    assert keep_open([option("broom"), option("vacuum")])[1].method == "vacuum"
    assert keep_open([option("relay")])[1] is None


def test_a_surface_that_is_well_needs_nothing():
    assert actions(FINE) == []


def test_an_untested_surface_is_tested_first_whatever_the_forecast_says():
    status = replace(
        FINE,
        last_tested_on=None,
        action_on=TODAY,
        share_below_now=0.6,
        agreed=AgreedCare(cleanings_per_year=4.0),
    )

    assert actions(status, [option()]) == [("test", TODAY)]


def test_a_surface_still_to_be_opened_is_tested_at_its_opening():
    status = replace(FINE, last_tested_on=None, opened_on=TODAY + 60 * DAY)

    assert actions(status) == [("test", TODAY + 60 * DAY)]


def test_the_agreement_calls_for_the_next_test():
    assert actions(replace(FINE, agreed=AgreedCare(tests_per_year=2.0))) == [
        ("test", FINE.last_tested_on + 183 * DAY)
    ]


@pytest.mark.parametrize("per_year", [0.0, 1e-9, 1e-300])
def test_what_is_practically_never_agreed_calls_for_nothing(per_year):
    assert actions(replace(FINE, agreed=AgreedCare(per_year, per_year))) == []


def test_a_recent_test_answers_what_was_due_by_now():
    status = replace(FINE, last_tested_on=TODAY - 30 * DAY, alert_on=TODAY, share_below_now=0.2)

    assert actions(status) == []


def test_a_cleaning_is_followed_by_a_test_within_a_month():
    status = replace(FINE, last_cleaned_on=TODAY - 5 * DAY)

    assert actions(status) == [("test", TODAY + 25 * DAY)]


def test_a_cleaning_that_hangs_on_an_old_test_waits_for_a_new_one():
    doubt = replace(FINE, action_on=TODAY, share_below_now=0.6, last_tested_on=TODAY - 300 * DAY)

    assert actions(doubt, [option()]) == [("test", TODAY)]


def test_a_cleaning_that_is_sure_to_be_needed_does_not_wait_for_a_test():
    sure = replace(FINE, action_on=TODAY, share_below_now=0.95, last_tested_on=TODAY - 300 * DAY)

    assert ("clean", TODAY) in actions(sure, [option()])


def test_the_deciding_reason_comes_first_and_the_move_is_explained():
    status = replace(
        FINE,
        agreed=AgreedCare(tests_per_year=1.0),
        alert_on=date(2027, 1, 10),
        climate=Climate(frost_months=(1, 2)),
        last_tested_on=date(2026, 1, 5),
    )

    piece = advise(status, LEVELS, [])[0]

    assert piece.reasons[0].startswith("The agreement asks for 1 test round a year")
    assert piece.reasons[-1].startswith("The day was moved to {day:2027-03-01}: frost")


def test_the_most_pressing_advice_comes_first():
    status = replace(
        FINE, agreed=AgreedCare(tests_per_year=1.0), action_on=TODAY + 20 * DAY, share_below_now=0.4
    )

    assert [action for action, _ in actions(status, [option()])] == ["clean", "test"]


def test_an_agreed_cleaning_is_a_sweeping_while_something_stronger_is_half_a_year_off():
    status = replace(
        FINE,
        agreed=AgreedCare(cleanings_per_year=1.0),
        last_cleaned_on=TODAY - 400 * DAY,
        action_on=TODAY + 300 * DAY,
    )
    options = [option("vacuum", stays=0.1), option("joint_refill", stays=0.9)]

    [piece] = [p for p in advise(status, LEVELS, options) if p.action != "test"]

    assert (piece.action, piece.option.method, piece.window.due) == ("clean", "vacuum", TODAY - 35 * DAY)
    assert "not due yet" in piece.reasons[-1]


def test_an_agreed_cleaning_gives_way_to_a_stronger_one_that_is_due_soon():
    status = replace(
        FINE,
        agreed=AgreedCare(cleanings_per_year=1.0),
        last_cleaned_on=TODAY - 400 * DAY,
        action_on=TODAY + 90 * DAY,
    )
    options = [option("vacuum", stays=0.1), option("joint_refill", stays=0.9)]

    [piece] = [p for p in advise(status, LEVELS, options) if p.action != "test"]

    assert (piece.action, piece.option.method, piece.window.due) == (
        "rejoint",
        "joint_refill",
        TODAY + 90 * DAY,
    )


def test_nothing_agreed_falls_due_before_the_agreement():
    status = replace(FINE, agreed=AgreedCare(1.0, 1.0, TODAY + 10 * DAY))

    assert ("clean", TODAY + 10 * DAY) in actions(status, [option()])


@pytest.mark.parametrize(("days_until_action", "method"), [(182, "joint_refill"), (183, "vacuum")])
def test_half_a_year_to_something_stronger_counts_from_today_where_the_agreed_cleaning_is_overdue(
    days_until_action, method
):
    """An agreed cleaning 35 days late: the half year runs from today, since nobody can clean in the past."""
    status = replace(
        FINE,
        agreed=AgreedCare(cleanings_per_year=1.0),
        last_cleaned_on=TODAY - 400 * DAY,
        action_on=TODAY + days_until_action * DAY,
    )
    options = [option("vacuum", stays=0.1), option("joint_refill", stays=0.9)]

    [piece] = [p for p in advise(status, LEVELS, options) if p.action != "test"]

    assert piece.option.method == method


@pytest.mark.parametrize(("days_until_action", "method"), [(232, "joint_refill"), (233, "vacuum")])
def test_half_a_year_to_something_stronger_counts_from_an_agreed_cleaning_still_to_come(
    days_until_action, method
):
    """Agreed 50 days from today, and 182 days after that."""
    status = replace(
        FINE,
        agreed=AgreedCare(cleanings_per_year=1.0),
        last_cleaned_on=TODAY - 315 * DAY,  # 365 - 315 = 50
        action_on=TODAY + days_until_action * DAY,
    )
    options = [option("vacuum", stays=0.1), option("joint_refill", stays=0.9)]

    [piece] = [p for p in advise(status, LEVELS, options) if p.action != "test"]

    assert piece.option.method == method
