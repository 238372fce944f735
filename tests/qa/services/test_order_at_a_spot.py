"""Which number a test has at its spot: by the time it was made, in whichever order it arrived or was corrected."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from qa.calc.surprise import ExpectedRate
from qa.models import InfiltrationTest
from qa.services import expectations, rounds
from qa.services.batches import AT_ONCE, in_pieces, record_tests
from tests.clock import TODAY
from tests.factories import LocationFactory, RoundFactory

MINUTE = timedelta(minutes=1)


@pytest.fixture
def round_(firm):
    return RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1))


def ring(round_, minute, place="by the gate", **changes):
    """A ring test at a spot in words or a location, made some minutes after an hour ago, by the device's clock."""
    where = {"spot": place} if isinstance(place, str) else {"location": place}
    values = {"test_mass": 3.6, "ring_diameter": 300.0, "elapsed_s": 150.0, "prewet_time_s": 45.0} | changes
    return InfiltrationTest(
        round=round_, made_at=now() - timedelta(hours=1) + minute * MINUTE, **where, **values
    )


def recorded(firm, *tests):
    return [rounds.record_test(test=test, by=firm.technician) for test in tests]


def numbers(*tests):
    rows = InfiltrationTest.objects.in_bulk([test.pk for test in tests])
    return [rows[test.pk].sequence for test in tests]


def keys(test):
    return [found.key for found in InfiltrationTest.objects.get(pk=test.pk).deviations]


def corrected(firm, old, **changes):
    """The same readings in place of the old ones, with what was wrong."""
    names = ("test_mass", "ring_diameter", "elapsed_s", "prewet_time_s", "spot", "location")
    new = InfiltrationTest(round=old.round, **({name: getattr(old, name) for name in names} | changes))
    return rounds.correct_test(old=old, new=new, by=firm.technician, reason="Written down wrongly.")


def test_tests_that_arrive_backwards_are_numbered_by_when_they_were_made(firm, round_):
    third, first, second = recorded(firm, ring(round_, 9), ring(round_, 1), ring(round_, 5))

    assert numbers(first, second, third) == [1, 2, 3]
    assert keys(third) == ["too_many_tests"]
    assert keys(second) == []


def test_stored_together_they_are_numbered_by_when_their_stopwatch_ended_and_not_by_their_rows(firm, round_):
    """The sheet lists one first; the device says when each ended."""
    ended = now() - timedelta(hours=2)
    late = ring(round_, 1, finished_at=ended + 30 * MINUTE)
    early = ring(round_, 2, finished_at=ended)

    assert record_tests(tests=[late, early], by=firm.technician) == {}

    assert numbers(early, late) == [1, 2]


def test_repeats_stored_together_follow_the_first_test_by_the_stopwatch_too(firm, round_):
    """A repeat without prewetting rests on the first at its spot, so that it is recorded by itself, in order."""
    ended = now() - timedelta(hours=2)
    dry = {"rewetted": False, "prewet_time_s": None, "minutes_since_first": 10.0}
    second = ring(round_, 1, finished_at=ended + 20 * MINUTE, **dry)
    third = ring(round_, 0, finished_at=ended + 40 * MINUTE, **dry)
    first = ring(round_, 5, finished_at=ended)

    assert record_tests(tests=[third, second, first], by=firm.technician) == {}

    assert numbers(first, second, third) == [1, 2, 3]
    assert "too_many_tests" in keys(third)


def test_a_test_corrected_at_its_spot_keeps_its_number_and_its_time(firm, round_):
    first, second = recorded(firm, ring(round_, 1), ring(round_, 5))

    new = corrected(firm, first, elapsed_s=300.0)

    assert numbers(new, second) == [1, 2]
    assert new.made_at == first.made_at


def test_a_test_that_was_made_elsewhere_is_numbered_there_and_the_others_close_up(firm, round_):
    """Written down by the gate, made at a location: of three by the gate two are left, and neither is one too many."""
    place = LocationFactory(surface=firm.surface)
    first, wrong, last = recorded(firm, ring(round_, 1), ring(round_, 5), ring(round_, 9))
    assert keys(last) == ["too_many_tests"]

    new = corrected(firm, wrong, spot="", location=place)

    assert numbers(first, last, new) == [1, 2, 1]
    assert keys(last) == []


def test_a_test_moved_in_front_of_others_moves_them_on(firm, round_):
    place = LocationFactory(surface=firm.surface)
    wrong, second, third = recorded(firm, ring(round_, 1), ring(round_, 5, place), ring(round_, 9, place))
    assert numbers(second, third) == [1, 2]

    new = corrected(firm, wrong, spot="", location=place)

    assert numbers(new, second, third) == [1, 2, 3]
    assert keys(third) == ["too_many_tests"]


def test_a_spot_in_other_words_is_another_spot(firm, round_):
    first, wrong = recorded(firm, ring(round_, 1), ring(round_, 5))

    new = corrected(firm, wrong, spot="under the tree")

    assert numbers(first, new) == [1, 1]


def test_a_refused_correction_leaves_every_number_as_it_was(firm, round_):
    place = LocationFactory(surface=firm.surface)
    first, second, there = recorded(firm, ring(round_, 1), ring(round_, 5), ring(round_, 9, place))

    with pytest.raises(ValidationError):
        corrected(firm, first, spot="", location=place, elapsed_s=-1.0)

    assert numbers(first, second, there) == [1, 2, 1]
    assert InfiltrationTest.objects.get(pk=first.pk).is_active


def test_a_clock_that_runs_ahead_tells_nothing_of_when_a_test_was_made(firm, round_):
    ahead = ring(round_, 0, finished_at=now() + timedelta(hours=3))

    (test,) = recorded(firm, ahead)

    assert test.made_at <= now()


@pytest.mark.parametrize(("days_ago", "filled"), [(0, True), (1, False)])
def test_a_test_typed_in_on_its_own_day_ended_when_it_was_sent(firm, days_ago, filled):
    """Typed in days later, nobody knows when it ended."""
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=days_ago))

    (test,) = recorded(firm, ring(round_, 0))

    assert (test.finished_at is not None) == filled


def test_what_a_test_would_lose_is_foreseen_without_storing_it(firm, round_):
    """A seal that leaked makes the rate at most what was read: while somebody stands there it can be done again."""
    leaked = ring(round_, 1, leak_seen=True)

    found = rounds.foreseen_loss(leaked)

    assert [deviation.key for deviation in found] == ["leak"]
    assert not InfiltrationTest.objects.filter(round=round_).exists()


def test_a_sound_test_and_one_that_is_stored_already_lose_nothing(firm, round_):
    device_id = "0b8c1d4e-0000-4000-8000-000000000001"
    sent = ring(round_, 1, leak_seen=True, device_id=device_id)
    recorded(firm, sent)

    again = ring(round_, 1, leak_seen=True, device_id=device_id)

    assert rounds.foreseen_loss(ring(round_, 5)) == ()
    assert rounds.foreseen_loss(again) == ()


def test_the_weather_is_no_loss_of_a_test_since_it_was_told_with_the_round(firm):
    wet = RoundFactory(surface=firm.surface, tested_on=TODAY, hours_since_rain=1.0, standing_water=True)

    assert rounds.foreseen_loss(ring(wet, 1)) == ()


@pytest.mark.parametrize("changes", [{"elapsed_s": 0.0}, {"place": "  "}], ids=["no time", "nowhere"])
def test_what_cannot_be_is_refused_before_it_is_foreseen(firm, round_, changes):
    with pytest.raises(ValidationError):
        rounds.foreseen_loss(ring(round_, 1, **changes))


@pytest.fixture
def expected(monkeypatch):
    """Have something expected of every surface, as the app above does when it starts."""

    def register(rate):
        monkeypatch.setattr(expectations, "_registered", [lambda _surface, _on: rate])

    return register


def test_where_nobody_makes_forecasts_nothing_is_odd(firm, round_, monkeypatch):
    monkeypatch.setattr(expectations, "_registered", [expectations._nothing])
    test = ring(round_, 1)
    rounds.foreseen_loss(test)

    assert rounds.foreseen_surprise(test) == ""


@pytest.mark.parametrize(("elapsed_s", "odd"), [(150.0, False), (1500.0, True), (4.0, True)])
def test_a_rate_far_from_what_was_expected_is_said_before_it_is_stored(
    firm, round_, expected, elapsed_s, odd
):
    """3.6 kg through 300 mm in 150 s are some 1220 mm/h."""
    expected(ExpectedRate(1200.0, 600.0, 2400.0))
    test = ring(round_, 1, elapsed_s=elapsed_s)
    rounds.foreseen_loss(test)

    said = rounds.foreseen_surprise(test)

    assert bool(said) == odd
    assert not InfiltrationTest.objects.filter(round=round_).exists()


@pytest.mark.parametrize("count", [0, 1, AT_ONCE, AT_ONCE + 1, 2 * AT_ONCE])
def test_many_values_are_cut_into_pieces_that_a_statement_takes_and_none_is_lost(count):
    values = list(range(count))

    pieces = list(in_pieces(values))

    assert [value for piece in pieces for value in piece] == values
    assert all(0 < len(piece) <= AT_ONCE for piece in pieces)
