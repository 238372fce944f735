"""Advice on any surface whatever: what it must never say, and what more of a bad thing must never improve."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

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
from maintenance.calc.costs import cost_per_year
from maintenance.calc.suitability import RESTORING, ROUTINE
from maintenance.calc.text import speak
from maintenance.calc.vocabulary import WORST_FIRST, Action, SurfaceState
from maintenance.calc.windows import Climate

TODAY = date(2026, 6, 10)
DAYS = st.integers(0, 3000).map(lambda days: timedelta(days=days))
PAST = DAYS.map(lambda days: TODAY - days)
EVENTUALLY = st.integers(-700, 3650).map(lambda days: TODAY + timedelta(days=days))
MONTHS = st.frozensets(st.integers(1, 12), max_size=5)
CLIMATES = st.builds(Climate, MONTHS, MONTHS, st.booleans(), st.booleans())
CARE = st.builds(
    AgreedCare,
    st.sampled_from([0.0, 0.2, 1.0, 4.0, 52.0]),
    st.sampled_from([0.0, 0.5, 2.0, 12.0]),
    st.none() | PAST,
)


@st.composite
def statuses(draw):
    opened = draw(PAST)
    since = st.integers(0, (TODAY - opened).days).map(lambda days: opened + timedelta(days=days))
    alert, action = draw(st.none() | EVENTUALLY), draw(st.none() | EVENTUALLY)
    if alert and action and alert > action:
        alert, action = action, alert
    return SurfaceStatus(
        today=TODAY,
        opened_on=opened,
        limit_mm_h=draw(st.floats(1.0, 5000.0)),
        rate_now_mm_h=draw(st.floats(0.1, 50_000.0)),
        share_below_now=draw(st.floats(0.0, 1.0)),
        alert_on=alert if action is None or alert else action,
        action_on=action,
        last_tested_on=draw(st.none() | since),
        last_cleaned_on=draw(st.none() | since),
        agreed=draw(CARE),
        climate=draw(CLIMATES),
    )


@st.composite
def options(draw):
    cost = Decimal(draw(st.integers(8000, 500_000))) / 100
    years = draw(st.none() | st.floats(0.0, 10.0))
    return Option(
        method=draw(st.sampled_from(CleaningMethod)),
        rate_after_mm_h=draw(st.floats(0.1, 50_000.0)),
        years_until_limit=years,
        share_staying_above=draw(st.floats(0.0, 1.0)),
        cost=cost,
        cost_per_year=cost_per_year(cost, years, 10.0),
    )


OPTIONS = st.lists(options(), max_size=6, unique_by=lambda option: option.method)
LEVELS = st.builds(
    Levels, st.floats(0.01, 0.5), st.floats(0.5, 0.99), st.integers(1, 120), st.floats(0.05, 0.99)
)


@given(statuses(), LEVELS, OPTIONS)
def test_advice_is_at_most_one_test_and_one_treatment_the_sooner_first(status, levels, offered):
    found = advise(status, levels, offered)

    dues = [advice.window.due for advice in found]
    assert dues == sorted(dues)
    assert sum(advice.action is Action.TEST for advice in found) <= 1
    assert sum(advice.action is not Action.TEST for advice in found) <= 1


@given(statuses(), LEVELS, OPTIONS)
def test_every_piece_of_advice_says_why_in_sentences_that_either_reader_can_be_told(status, levels, offered):
    for advice in advise(status, levels, offered):
        assert advice.reasons
        for reason in advice.reasons:
            for units in ("si", "us"):
                spoken = speak(reason, units)
                assert "{" not in spoken
                assert spoken.endswith(".")


@given(statuses(), LEVELS, OPTIONS)
def test_only_a_method_that_is_offered_is_advised_and_only_for_what_cleans(status, levels, offered):
    for advice in advise(status, levels, offered):
        if advice.option is not None:
            assert advice.option in offered
            assert advice.action.cleans


@given(statuses(), LEVELS, OPTIONS)
def test_a_surface_that_was_never_tested_is_tested_before_money_is_spent_on_it(status, levels, offered):
    found = advise(replace(status, last_tested_on=None), levels, offered)

    assert [advice.action for advice in found] == [Action.TEST]


@given(statuses(), LEVELS, OPTIONS)
def test_no_work_is_to_begin_before_today(status, levels, offered):
    for advice in advise(status, levels, offered):
        assert advice.window.earliest >= TODAY


@given(statuses(), LEVELS)
def test_where_nothing_is_agreed_and_nothing_is_feared_nothing_is_advised_but_to_test_what_was_cleaned(
    status, levels
):
    quiet = replace(
        status, alert_on=None, action_on=None, agreed=AgreedCare(), last_tested_on=TODAY, last_cleaned_on=None
    )

    assert advise(quiet, levels, []) == []


@given(statuses(), LEVELS, st.integers(1, 800))
def test_a_surface_whose_limit_comes_sooner_never_stands_better(status, levels, days):
    sooner = timedelta(days=days)
    worse = replace(
        status,
        alert_on=status.alert_on and status.alert_on - sooner,
        action_on=status.action_on and status.action_on - sooner,
    )

    assert WORST_FIRST.index(state_of(worse, levels)) <= WORST_FIRST.index(state_of(status, levels))


@given(statuses(), LEVELS, st.floats(0.0, 1.0))
def test_a_higher_chance_of_being_below_never_stands_better(status, levels, more):
    worse = replace(status, share_below_now=max(status.share_below_now, more))

    assert WORST_FIRST.index(state_of(worse, levels)) <= WORST_FIRST.index(state_of(status, levels))


@given(statuses(), LEVELS)
def test_not_tested_is_said_of_exactly_the_surfaces_without_a_test(status, levels):
    assert (state_of(status, levels) is SurfaceState.NOT_TESTED) == (status.last_tested_on is None)


@given(OPTIONS, LEVELS)
def test_what_is_chosen_lasts_as_wished_and_nothing_of_its_kind_that_does_is_cheaper(offered, levels):
    action, chosen, _ = choose(offered, levels)

    good = [
        o for o in offered if o.share_staying_above >= levels.wished_share and o.cost_per_year is not None
    ]
    routine = [o for o in good if o.method in ROUTINE]
    kind = routine or [o for o in good if o.method in RESTORING]
    assert action is (Action.LOOK if not good else Action.CLEAN if routine else Action.REJOINT)
    assert (chosen in kind) if kind else (chosen is None)
    assert all(chosen.cost_per_year <= o.cost_per_year for o in kind)


@given(OPTIONS, LEVELS, st.randoms(use_true_random=False))
def test_in_which_order_methods_are_offered_does_not_decide_the_price(offered, levels, random):
    shuffled = random.sample(offered, len(offered))

    one, other = choose(offered, levels), choose(shuffled, levels)

    assert one[0] is other[0]
    if one[1] and other[1]:
        assert (one[1].cost_per_year, one[1].cost) == (other[1].cost_per_year, other[1].cost)


@given(OPTIONS, LEVELS, st.floats(0.0, 0.5))
def test_wishing_for_less_never_costs_more_within_a_kind(offered, levels, less):
    wish = replace(levels, wished_share=max(0.0, levels.wished_share - less))

    strict, lax = choose(offered, levels), choose(offered, wish)

    if strict[1] and lax[1] and strict[0] is lax[0]:
        assert lax[1].cost_per_year <= strict[1].cost_per_year
    if strict[0] is not Action.LOOK:
        assert lax[0] is not Action.LOOK


@given(OPTIONS, st.booleans())
def test_a_surface_that_drains_is_never_rejointed_to_keep_it_open(offered, near):
    action, option, why = keep_open(offered, near)

    assert action is Action.CLEAN
    assert option is None or option.method in ROUTINE
    assert why.endswith(".")


@given(st.integers(1, 10**8), st.floats(0.01, 100.0), st.floats(0.001, 100.0))
def test_a_cleaning_that_lasts_longer_never_costs_more_a_year(cents, years, more):
    cost = Decimal(cents) / 100
    shorter, longer = (cost_per_year(cost, y, 1000.0) for y in (years, years + more))

    assert shorter is not None
    assert longer is not None
    assert longer <= shorter


@given(st.integers(1, 10**8), st.floats(0.5, 50.0))
def test_beyond_the_horizon_it_counts_as_lasting_to_the_horizon(cents, horizon):
    cost = Decimal(cents) / 100

    assert cost_per_year(cost, None, horizon) == cost_per_year(cost, horizon, horizon)
