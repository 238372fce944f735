"""Advice on any surface whatever: what it must never say, and what more of a bad thing must never improve."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import (
    AgreedCare,
    Option,
    SurfaceStatus,
    advise,
    keep_open,
    state_of,
)
from maintenance.calc.costs import cost_per_year
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.suitability import ROUTINE
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
        below_10_on=alert if action is None or alert else action,
        below_50_on=action,
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
MONEY = st.integers(-500_000, 500_000).map(lambda cents: Decimal(cents) / 100)
PRICE = st.integers(8000, 500_000).map(lambda cents: Decimal(cents) / 100)
RIVALS = st.builds(Rival, st.sampled_from(CleaningMethod), PRICE, MONEY)
SOON = st.integers(0, 365).map(lambda days: TODAY + timedelta(days=days))
CLEANINGS = st.builds(
    CleaningNeed,
    on=SOON,
    best=RIVALS,
    chance=st.floats(0.0, 1.0),
    rivals=st.lists(RIVALS, max_size=4).map(tuple),
    hours=st.floats(0.1, 2000.0),
    wants_fresh_test=st.booleans(),
)
NEEDS = st.builds(
    Needs,
    currency=st.just("EUR"),
    year_below=PRICE,
    ask_first=PRICE,
    cleaning=st.none() | CLEANINGS,
    test_on=st.none() | SOON,
    test_saves=st.none() | MONEY,
    acts_below_mm_h=st.none() | st.floats(1.0, 5000.0),
    nearest=st.none() | RIVALS,
)


@given(statuses(), NEEDS, OPTIONS)
def test_advice_is_at_most_one_test_and_one_treatment_the_sooner_first(status, needs, offered):
    found = advise(status, needs, offered)

    dues = [advice.window.due for advice in found]
    assert dues == sorted(dues)
    assert sum(advice.action is Action.TEST for advice in found) <= 1
    assert sum(advice.action is not Action.TEST for advice in found) <= 1


@given(statuses(), NEEDS, OPTIONS)
def test_a_cleaning_that_is_needed_never_stands_beside_a_test_that_is(status, needs, offered):
    needed = [advice.action for advice in advise(status, needs, offered) if not advice.is_agreed]

    assert len(needed) <= 1


@given(statuses(), NEEDS, OPTIONS)
def test_every_piece_of_advice_says_why_in_sentences_that_either_reader_can_be_told(status, needs, offered):
    for advice in advise(status, needs, offered):
        assert advice.reasons
        for reason in advice.reasons:
            for units in ("si", "us"):
                spoken = speak(reason, units)
                assert "{" not in spoken
                assert spoken.endswith(".")


@given(statuses(), NEEDS, OPTIONS)
def test_only_a_method_that_is_offered_is_advised_and_only_for_what_cleans(status, needs, offered):
    for advice in advise(status, needs, offered):
        if advice.option is not None:
            assert advice.option in offered
            assert advice.action.cleans


@given(statuses(), NEEDS, OPTIONS)
def test_a_surface_that_was_never_tested_is_tested_before_money_is_spent_on_it(status, needs, offered):
    found = advise(replace(status, last_tested_on=None), needs, offered)

    assert [advice.action for advice in found] == [Action.TEST]


@given(statuses(), NEEDS, OPTIONS)
def test_no_work_is_to_begin_before_today(status, needs, offered):
    for advice in advise(status, needs, offered):
        assert advice.window.earliest >= TODAY


@given(statuses(), NEEDS, OPTIONS)
def test_a_restoration_above_the_firms_sum_is_never_advised_without_a_persons_word(status, needs, offered):
    for advice in advise(status, needs, offered):
        if advice.action is Action.REJOINT:
            assert advice.wants_word == (needs.cleaning.best.price > needs.ask_first)
            assert not needs.cleaning.wants_fresh_test


@given(statuses(), NEEDS, OPTIONS)
def test_no_test_is_asked_for_that_costs_more_than_it_saves(status, needs, offered):
    idle = replace(
        needs,
        test_saves=Decimal("-1.00"),
        cleaning=needs.cleaning and replace(needs.cleaning, wants_fresh_test=False),
    )
    tested = replace(status, last_tested_on=status.opened_on)

    found = advise(tested, idle, offered)

    assert all(advice.is_agreed for advice in found if advice.action is Action.TEST)


@given(statuses(), NEEDS, OPTIONS)
def test_what_the_agreement_asks_for_is_never_more_than_one_interval_late(status, needs, offered):
    for advice in advise(status, replace(needs, cleaning=None, test_on=None), offered):
        if advice.is_agreed:
            per_year = status.agreed.tests_per_year
            if advice.action is not Action.TEST:
                per_year = status.agreed.cleanings_per_year
            assert (TODAY - advice.window.due).days <= 366 / per_year


@given(statuses(), OPTIONS)
def test_where_nothing_is_agreed_and_nothing_pays_nothing_is_advised(status, offered):
    quiet = replace(status, share_below_now=0.2, agreed=AgreedCare(), last_tested_on=TODAY)

    assert advise(quiet, Needs("EUR", Decimal(1), Decimal(1)), offered) == []


@given(statuses(), st.integers(1, 800))
def test_a_surface_whose_limit_comes_sooner_never_stands_better(status, days):
    sooner = timedelta(days=days)
    worse = replace(
        status,
        below_10_on=status.below_10_on and status.below_10_on - sooner,
        below_50_on=status.below_50_on and status.below_50_on - sooner,
    )

    assert WORST_FIRST.index(state_of(worse)) <= WORST_FIRST.index(state_of(status))


@given(statuses(), st.floats(0.0, 1.0))
def test_a_higher_chance_of_being_below_never_stands_better(status, more):
    worse = replace(status, share_below_now=max(status.share_below_now, more))

    assert WORST_FIRST.index(state_of(worse)) <= WORST_FIRST.index(state_of(status))


@given(statuses())
def test_not_tested_is_said_of_exactly_the_surfaces_without_a_test(status):
    assert (state_of(status) is SurfaceState.NOT_TESTED) == (status.last_tested_on is None)


@given(OPTIONS)
def test_a_surface_that_drains_is_never_rejointed_to_keep_it_open(offered):
    option, why = keep_open(offered)

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
