"""From what a surface needs to what people are advised to do."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import AgreedCare, Option, SurfaceStatus, advise, keep_open, state_of
from maintenance.calc.needs import CleaningNeed, Needs, Rival
from maintenance.calc.text import speak
from maintenance.calc.windows import Climate

TODAY = date(2026, 6, 1)
DAY = timedelta(days=1)
FINE = SurfaceStatus(
    today=TODAY,
    opened_on=date(2020, 5, 1),
    limit_mm_h=250.0,
    rate_now_mm_h=900.0,
    share_below_now=0.01,
    below_10_on=None,
    below_50_on=None,
    last_tested_on=TODAY - 90 * DAY,
    last_cleaned_on=None,
)
NO_NEEDS = Needs("EUR", Decimal("4000.00"), Decimal("2000.00"))
VACUUM = Rival(CleaningMethod.VACUUM, Decimal("450.00"), Decimal("830.00"))
WASH = Rival(CleaningMethod.WASH_VACUUM, Decimal("1900.00"), Decimal("120.00"))
REFILL = Rival(CleaningMethod.JOINT_REFILL, Decimal("4500.00"), Decimal("-310.00"))


def option(method="vacuum", cost="450.00"):
    return Option(CleaningMethod(method), 900.0, 2.5, 0.9, Decimal(cost), Decimal("180.00"))


def need(on=TODAY, best=VACUUM, rivals=(WASH, REFILL), chance=0.2, hours=2.0, fresh=False):
    return CleaningNeed(on, best, chance, rivals, hours, fresh)


def actions(status, needs=NO_NEEDS, options=()):
    return [(piece.action, piece.window.due) for piece in advise(status, needs, options)]


def spoken(piece):
    return " ".join(speak(reason, "si") for reason in piece.reasons)


@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ({}, "draining"),
        ({"last_tested_on": None, "share_below_now": 0.9}, "not_tested"),
        ({"share_below_now": 0.5}, "below_limit"),
        ({"below_50_on": TODAY + 182 * DAY}, "clean_soon"),
        ({"below_50_on": TODAY + 183 * DAY}, "draining"),
        ({"below_10_on": TODAY + 365 * DAY}, "watch"),
        ({"below_10_on": TODAY + 366 * DAY}, "draining"),
        ({"share_below_now": 0.31}, "clean_soon"),  # never milder than one that is at 2 % today
        ({"share_below_now": 0.02, "below_10_on": TODAY + 90 * DAY}, "watch"),
    ],
)
def test_a_surface_is_told_by_the_same_chances_everywhere(changes, state):
    assert state_of(replace(FINE, **changes)) == state


def test_a_surface_that_needs_nothing_is_left_alone():
    assert actions(FINE) == []


def test_a_cleaning_that_pays_is_advised_with_what_it_was_compared_with():
    status = replace(FINE, share_below_now=0.2)
    (piece,) = advise(status, replace(NO_NEEDS, cleaning=need()), [option()])

    assert (piece.action, piece.window.due, piece.option.method) == ("clean", TODAY, "vacuum")
    assert piece.saves == Decimal("830.00")
    said = spoken(piece)
    assert "Vacuum sweeping at 450 EUR saves 830 EUR against waiting" in said
    assert "at 1,900 EUR would save 120 EUR" in said
    assert "at 4,500 EUR would cost 310 EUR more than waiting" in said
    assert "20\u00a0%" in said
    assert "4,000 EUR" in said


def test_a_restoration_above_the_firms_sum_waits_for_a_person():
    best = replace(REFILL, saves=Decimal("900.00"))

    (piece,) = advise(
        FINE, replace(NO_NEEDS, cleaning=need(best=best, rivals=())), [option("joint_refill", "4500.00")]
    )

    assert (piece.action, piece.wants_word, piece.restores) == ("rejoint", True, True)
    assert "a person decides" in spoken(piece)


def test_a_cheap_restoration_needs_no_word():
    best = replace(REFILL, price=Decimal("1999.00"), saves=Decimal("900.00"))

    (piece,) = advise(FINE, replace(NO_NEEDS, cleaning=need(best=best)), [])

    assert (piece.action, piece.wants_word) == ("rejoint", False)


def test_where_a_restoration_wants_a_fresh_test_only_the_test_is_advised():
    best = replace(REFILL, saves=Decimal("900.00"))

    (piece,) = advise(FINE, replace(NO_NEEDS, cleaning=need(best=best, fresh=True)), [])

    assert (piece.action, piece.restores) == ("test", True)
    assert "Test first" in spoken(piece)
    assert "4,500 EUR would pay" in spoken(piece)
    assert "2,000 EUR always waits for a fresh test" in spoken(piece)


def test_a_test_that_decides_comes_alone_and_says_what_it_decides():
    doubtful = replace(
        NO_NEEDS, cleaning=need(), test_on=TODAY, test_saves=Decimal("640.00"), acts_below_mm_h=480.0
    )

    (piece,) = advise(FINE, doubtful, [option()])

    assert piece.action == "test"
    assert "A result below 480 mm/h calls for cleaning" in spoken(piece)
    assert "save 640 EUR" in spoken(piece)


@pytest.mark.parametrize(
    "changes",
    [
        {"test_saves": Decimal("-12.00")},  # it costs more than it saves
        {"test_saves": Decimal("0.00")},
        {"test_on": TODAY + 40 * DAY},  # what is done before answers it
        {"cleaning": need(chance=0.995)},  # nothing left to doubt
    ],
)
def test_a_test_that_is_not_worth_its_price_does_not_hold_a_cleaning_up(changes):
    needs = replace(NO_NEEDS, cleaning=need(), test_on=TODAY, test_saves=Decimal("640.00"))

    assert [action for action, _ in actions(FINE, replace(needs, **changes), [option()])] == ["clean"]


def test_a_test_is_advised_where_no_cleaning_is_near():
    needs = replace(NO_NEEDS, test_on=TODAY + 60 * DAY, test_saves=Decimal("90.00"))

    assert actions(FINE, needs) == [("test", TODAY + 60 * DAY)]


def test_an_untested_surface_is_tested_first_whatever_it_needs():
    new = replace(FINE, last_tested_on=None, share_below_now=0.8)

    assert [a for a, _ in actions(new, replace(NO_NEEDS, cleaning=need()), [option()])] == ["test"]


def test_a_surface_still_to_be_opened_is_tested_at_its_opening():
    later = replace(FINE, last_tested_on=None, opened_on=TODAY + 30 * DAY)

    assert actions(later) == [("test", TODAY + 30 * DAY)]


def test_below_the_limit_with_nothing_that_pays_an_engineer_is_asked():
    below = replace(FINE, share_below_now=0.97)

    (piece,) = advise(below, replace(NO_NEEDS, nearest=REFILL), [option()])

    assert piece.action == "look"
    assert "would cost 310 EUR more than waiting" in spoken(piece)
    assert "licensed engineer" in spoken(piece)


def test_no_test_is_asked_for_where_the_surface_is_surely_below_and_nothing_pays():
    below = replace(FINE, share_below_now=0.995)
    needs = replace(NO_NEEDS, test_on=TODAY, test_saves=Decimal("640.00"))

    assert [a for a, _ in actions(below, needs)] == ["look"]


def test_what_was_agreed_besides_is_said_to_be_that():
    owed = replace(
        FINE, last_tested_on=TODAY - 300 * DAY, agreed=AgreedCare(tests_per_year=1, cleanings_per_year=1)
    )

    pieces = advise(owed, NO_NEEDS, [option("broom"), option("vacuum")])

    assert {(piece.action, piece.is_agreed) for piece in pieces} == {("test", True), ("clean", True)}
    assert all("would not need it now" in spoken(piece) for piece in pieces)


def test_what_nobody_needed_is_never_years_late():
    owed = replace(FINE, agreed=AgreedCare(cleanings_per_year=1))

    ((_, due),) = actions(owed, NO_NEEDS, [option()])

    assert timedelta(0) <= TODAY - due < timedelta(days=366)


def test_a_cleaning_that_is_needed_stands_for_the_agreed_one():
    owed = replace(FINE, agreed=AgreedCare(cleanings_per_year=2))

    (piece,) = advise(owed, replace(NO_NEEDS, cleaning=need()), [option()])

    assert (piece.action, piece.is_agreed) == ("clean", False)


@pytest.mark.parametrize("per_year", [0.0, -1.0, 1e-9])
def test_what_is_practically_never_agreed_calls_for_nothing(per_year):
    assert actions(replace(FINE, agreed=AgreedCare(per_year, per_year)), NO_NEEDS, [option()]) == []


def test_nothing_agreed_falls_due_before_the_agreement():
    since = TODAY + 100 * DAY
    owed = replace(FINE, agreed=AgreedCare(cleanings_per_year=1, since=since))

    assert actions(owed, NO_NEEDS, [option()]) == [("clean", since)]


def test_a_recent_test_answers_the_agreed_one():
    owed = replace(FINE, last_tested_on=TODAY - 40 * DAY, agreed=AgreedCare(tests_per_year=12))

    assert actions(owed) == []


def test_an_agreed_cleaning_of_an_open_surface_takes_the_method_that_lifts_fines():
    assert keep_open([option("broom"), option("vacuum")])[0].method == "vacuum"
    assert keep_open([option("relay")])[0] is None


def test_a_long_job_is_not_begun_where_frost_or_leaves_would_end_it():
    cold = replace(FINE, today=date(2026, 11, 23), climate=Climate(frost_months=(12, 1, 2)))
    relay = Rival(CleaningMethod.RELAY, Decimal("1900.00"), Decimal("700.00"))

    (piece,) = advise(cold, replace(NO_NEEDS, cleaning=need(cold.today, relay, (), hours=235.0)), [])

    assert piece.window.earliest >= date(2027, 3, 1)
    assert "before 40 days of work end" in spoken(piece)


def test_resin_waits_until_the_month_beside_frost_is_over():
    cool = replace(FINE, today=date(2026, 11, 3), climate=Climate(frost_months=(12, 1, 2)))
    resin = Rival(CleaningMethod.REJOINT_RESIN, Decimal("1900.00"), Decimal("700.00"))

    (piece,) = advise(cool, replace(NO_NEEDS, cleaning=need(cool.today, resin, (), hours=16.0)), [])

    assert piece.window.earliest >= date(2027, 4, 1)
    assert "too cold for resin" in spoken(piece)


def test_the_most_pressing_comes_first():
    owed = replace(FINE, agreed=AgreedCare(tests_per_year=1))
    later = replace(NO_NEEDS, cleaning=need(on=TODAY + 300 * DAY))

    assert [action for action, _ in actions(owed, later, [option()])] == ["test", "clean"]


@pytest.mark.parametrize(("days", "agreed_too"), [(182, False), (183, True)])
def test_beside_a_test_that_decides_on_more_within_half_a_year_no_agreed_sweeping_is_asked_for(
    days, agreed_too
):
    """The half year runs from today where the agreed cleaning is overdue, since nobody can clean in the past."""
    late = replace(FINE, agreed=AgreedCare(cleanings_per_year=1.0), last_cleaned_on=TODAY - 400 * DAY)
    needs = replace(
        NO_NEEDS, cleaning=need(on=TODAY + days * DAY), test_on=TODAY, test_saves=Decimal("90.00")
    )

    found = advise(late, needs, [option()])

    assert [piece.action for piece in found if not piece.is_agreed] == ["test"]
    assert any(piece.is_agreed for piece in found) is agreed_too


@pytest.mark.parametrize(("on", "told"), [(TODAY, "58\u00a0%"), (TODAY + 90 * DAY, "71\u00a0%")])
def test_of_today_the_chance_is_told_that_every_page_tells(on, told):
    status = replace(FINE, share_below_now=0.58)

    (piece, *_) = advise(status, replace(NO_NEEDS, cleaning=need(on=on, chance=0.71)), [option()])

    assert f"is {told} on" in spoken(piece)
