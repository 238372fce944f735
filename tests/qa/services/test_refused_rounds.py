"""What rounds and tests refuse, in which words, and that nothing is stored then."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.models import InfiltrationTest, TestRound
from qa.services import rounds
from tests.clock import TODAY
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory
from tests.refusals import FAR_AHEAD, refused, version_of

READINGS = {
    "prewet_mass": 3.6,
    "prewet_time_s": 45.0,
    "start_delay_s": 60.0,
    "test_mass": 3.6,
    "ring_diameter": 300.0,
    "elapsed_s": 150.0,
}


def test_of(round_, **changes):
    return InfiltrationTest(round=round_, **READINGS | {"spot": "At the gate"} | changes)


test_of.__test__ = False  # a maker of rows, not a test


@pytest.fixture
def round_(firm):
    return RoundFactory(surface=firm.surface)


@pytest.fixture
def left_out(firm, round_):
    return rounds.void_round(round_=round_, by=firm.technician, reason="Another surface was meant.")


def test_a_round_of_a_day_to_come_is_refused_beside_the_day(firm):
    with refused(ValidationError, FAR_AHEAD, "Enter the day the tests were", beside="tested_on"):
        rounds.record_round(
            round_=TestRound(surface=firm.surface, tested_on=FAR_AHEAD, hours_since_rain=48.0),
            by=firm.technician,
        )


@pytest.mark.parametrize(("days", "taken"), [(31, True), (32, False)])
def test_a_round_may_lie_a_month_before_the_opening_and_not_a_day_more(firm, days, taken):
    day = firm.surface.opened_on - timedelta(days=days)
    round_ = TestRound(surface=firm.surface, tested_on=day, hours_since_rain=48.0)

    if taken:
        assert rounds.record_round(round_=round_, by=firm.technician).recorded_by == firm.technician
        return
    with refused(ValidationError, day, firm.surface.opened_on, "Check both dates"):
        rounds.record_round(round_=round_, by=firm.technician)


def test_an_amendment_to_a_day_to_come_is_refused_and_keeps_the_old_day(firm, round_):
    round_.tested_on = FAR_AHEAD

    with refused(ValidationError, FAR_AHEAD, beside="tested_on"):
        rounds.amend_round(round_=round_, reason="The sheet says so.")


@pytest.mark.parametrize("reason", ["", " \n\t "])
def test_an_amendment_says_why(round_, reason):
    round_.note = "Warm."

    with refused(ValidationError, "Say why", beside="reason"):
        rounds.amend_round(round_=round_, reason=reason)


@pytest.mark.parametrize(
    "write",
    [
        lambda firm, round_, test: rounds.record_test(test=test_of(round_), by=firm.technician),
        lambda firm, round_, test: rounds.amend_round(round_=round_, reason="Warmer."),
        lambda firm, round_, test: rounds.correct_test(
            old=test, new=test_of(round_), by=firm.technician, reason="Misread."
        ),
    ],
    ids=["another test", "an amendment", "a correction of a test"],
)
def test_a_round_that_was_set_aside_says_to_start_a_new_one(firm, round_, write):
    test = InfiltrationTestFactory(round=round_)
    rounds.void_round(round_=round_, by=firm.technician, reason="Another surface was meant.")

    with refused(NotAllowedNowError, "This round was set aside. Start a new round"):
        write(firm, round_, test)


def test_a_round_set_aside_while_the_page_of_a_test_was_open_takes_it_no_more(firm, round_):
    """The page holds a copy of the round that still counts."""
    open_copy = TestRound.objects.get(pk=round_.pk)
    rounds.void_round(round_=round_, by=firm.technician, reason="Another surface was meant.")

    with refused(NotAllowedNowError, "record the tests there"):
        rounds.record_test(test=test_of(open_copy), by=firm.technician)


def test_a_location_of_another_surface_is_named(firm, round_):
    elsewhere = LocationFactory(label="Q7")

    with refused(ValidationError, "Location Q7 belongs to another surface", beside="location"):
        rounds.record_test(test=test_of(round_, location=elsewhere), by=firm.technician)


@pytest.mark.parametrize("spot", ["", "   "])
def test_a_test_says_where_it_was_made(firm, round_, spot):
    with refused(ValidationError, "choose a fixed location or describe the spot", beside="location"):
        rounds.record_test(test=test_of(round_, spot=spot), by=firm.technician)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("test_mass", "Test mass is missing. Enter it as it was read."),
        ("ring_diameter", "Ring diameter is missing."),
        ("elapsed_s", "Elapsed time is missing."),
    ],
)
def test_a_reading_that_the_rate_needs_is_named_where_it_is_missing(firm, round_, name, words):
    with refused(ValidationError, words):
        rounds.record_test(test=test_of(round_, **{name: None}), by=firm.technician)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("test_mass", 0.0, "0"),
        ("test_mass", -3.6, "-3.6"),
        ("elapsed_s", 0.0, "0"),
        ("elapsed_s", -1.0, "-1"),
        ("ring_diameter", 0.0, "0"),
        ("ring_diameter", 12.0, "12"),
    ],
)
def test_a_reading_that_cannot_be_is_told_with_its_value(firm, round_, name, value, words):
    with refused(ValidationError, words):
        rounds.record_test(test=test_of(round_, **{name: value}), by=firm.technician)


def test_a_correction_that_cannot_be_leaves_the_old_readings_counting(firm, round_):
    old = InfiltrationTestFactory(round=round_)

    with refused(ValidationError, "Elapsed time is missing"):
        rounds.correct_test(
            old=old, new=test_of(round_, elapsed_s=None), by=firm.technician, reason="Misread."
        )

    old.refresh_from_db()
    assert old.is_active


def test_a_correction_without_a_reason_stores_neither_row(firm, round_):
    old = InfiltrationTestFactory(round=round_)

    with refused(ValidationError, "The reason stays readable", beside="reason"):
        rounds.correct_test(old=old, new=test_of(round_), by=firm.technician, reason=" ")


def test_of_two_corrections_of_a_test_the_second_is_told(firm, round_):
    test = InfiltrationTestFactory(round=round_)
    first, second = (InfiltrationTest.objects.get(pk=test.pk) for _ in range(2))
    rounds.correct_test(old=first, new=test_of(round_), by=firm.technician, reason="Misread.")

    with refused(AlreadyDoneError, "already replaced by a correction", "Open the newer one"):
        rounds.correct_test(old=second, new=test_of(round_, elapsed_s=99.0), by=firm.admin, reason="No.")


@pytest.mark.parametrize("first", ["set aside", "corrected"])
def test_a_test_that_no_longer_counts_is_not_set_aside_again(firm, round_, first):
    test = InfiltrationTestFactory(round=round_)
    open_copy = InfiltrationTest.objects.get(pk=test.pk)
    if first == "set aside":
        rounds.void_test(test=test, by=firm.technician, reason="The ring leaked.")
    else:
        rounds.correct_test(old=test, new=test_of(round_), by=firm.technician, reason="Misread.")

    with refused(AlreadyDoneError, "This record is already"):
        rounds.void_test(test=open_copy, by=firm.admin, reason="Mine too.")


def test_a_round_is_set_aside_once_and_keeps_the_first_reason(firm, round_):
    open_copy = TestRound.objects.get(pk=round_.pk)
    rounds.void_round(round_=round_, by=firm.technician, reason="Another surface was meant.")

    with refused(AlreadyDoneError, "already set aside"):
        rounds.void_round(round_=open_copy, by=firm.admin, reason="Rain.")

    assert TestRound.objects.get(pk=round_.pk).state_reason == "Another surface was meant."


@pytest.mark.parametrize("reason", ["", "   "])
def test_nothing_of_a_round_is_set_aside_without_a_reason(firm, round_, reason):
    test = InfiltrationTestFactory(round=round_)

    with refused(ValidationError, "Say why", beside="reason"):
        rounds.void_test(test=test, by=firm.technician, reason=reason)
    with refused(ValidationError, "Say why", beside="reason"):
        rounds.void_round(round_=round_, by=firm.technician, reason=reason)


def test_what_is_foreseen_of_a_test_stores_nothing_and_moves_no_number(firm, round_):
    there = InfiltrationTestFactory(round=round_, spot="At the gate")
    before = version_of(firm.surface)

    foreseen = rounds.foreseen_loss(test_of(round_, leak_seen=True))

    there.refresh_from_db()
    assert foreseen, "a leak makes a bound or voids the test"
    assert (there.sequence, InfiltrationTest.objects.count()) == (1, 1)
    assert version_of(firm.surface) == before


def test_a_test_of_today_typed_in_without_a_clock_was_finished_when_it_arrived(firm):
    of_today = RoundFactory(surface=firm.surface, tested_on=firm.site.today())
    earlier = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=9))

    now = rounds.record_test(test=test_of(of_today), by=firm.technician)
    then = rounds.record_test(test=test_of(earlier), by=firm.technician)

    assert now.finished_at == now.made_at
    assert then.finished_at is None
