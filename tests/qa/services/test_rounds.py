"""Recording test rounds and tests."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.calc.format import day as day_words
from core.errors import NotAllowedNowError
from qa.models import InfiltrationTest, Surface, TestRound
from qa.selectors.rounds import round_result
from qa.services import rounds
from tests.factories import (
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db


def ring_test(round_, **changes):
    values = {
        "round": round_,
        "spot": "by the gate",
        "prewet_mass": 3.6,
        "prewet_time_s": 45.0,
        "start_delay_s": 60.0,
        "test_mass": 3.6,
        "ring_diameter": 300.0,
        "elapsed_s": 150.0,
    }
    return InfiltrationTest(**values | changes)


def version_of(surface):
    return Surface.objects.get(pk=surface.pk).record_version


def test_a_test_is_stored_with_its_rate_and_readings_as_taken():
    """Rate by I = K M / (D^2 t) with K = 4 583 666 000 (ASTM C1701/C1701M; constant from memory)."""
    round_, user = RoundFactory(), UserFactory()

    test = rounds.record_test(test=ring_test(round_), by=user)

    test.refresh_from_db()
    assert test.rate_mm_h == pytest.approx(4_583_666_000 * 3.6 / (300.0**2 * 150.0))
    assert (test.test_mass, test.elapsed_s, test.recorded_by) == (3.6, 150.0, user)
    assert (test.bound, test.deviations) == ("=", ())


def test_a_test_in_pounds_and_inches_is_stored_in_both_senses():
    """K = 126 870 in pounds and inches (ASTM C1701/C1701M; constant from memory)."""
    us = ring_test(RoundFactory(), unit_system="us", prewet_mass=8.0, test_mass=8.0, ring_diameter=12.0)

    test = rounds.record_test(test=us, by=UserFactory())

    assert test.test_mass == 8.0
    assert test.rate_mm_h == pytest.approx(25.4 * 126_870 * 8.0 / (12.0**2 * 150.0))


def test_a_recorded_test_makes_the_forecast_stale():
    round_ = RoundFactory()
    before = version_of(round_.surface)

    rounds.record_test(test=ring_test(round_), by=UserFactory())

    assert version_of(round_.surface) == before + 1


@pytest.mark.parametrize(("ended", "bound"), [("still_ponded", "<"), ("too_fast", ">")])
def test_an_unfinished_test_is_stored_as_a_bound(ended, bound):
    test = rounds.record_test(test=ring_test(RoundFactory(), ended=ended), by=UserFactory())

    assert test.bound == bound


def test_departures_from_the_method_are_kept_with_the_test():
    late = ring_test(RoundFactory(), start_delay_s=300.0, ring_diameter=280.0)

    test = rounds.record_test(test=late, by=UserFactory())

    test.refresh_from_db()
    assert {found.key for found in test.deviations} == {"start_delay", "ring_diameter"}
    assert "280 mm" in test.deviations[0].message


def test_repeats_at_a_spot_are_numbered_and_the_third_is_a_departure():
    round_, user = RoundFactory(), UserFactory()

    tests = [rounds.record_test(test=ring_test(round_), by=user) for _ in range(3)]
    elsewhere = rounds.record_test(test=ring_test(round_, spot="under the tree"), by=user)

    assert [test.sequence for test in tests] == [1, 2, 3]
    assert [found.key for found in tests[2].deviations] == ["too_many_tests"]
    assert elsewhere.sequence == 1


def test_those_after_a_test_that_was_set_aside_are_numbered_anew_with_what_follows():
    round_, user = RoundFactory(), UserFactory()
    first, *later = [rounds.record_test(test=ring_test(round_), by=user) for _ in range(3)]
    elsewhere = rounds.record_test(test=ring_test(round_, spot="under the tree"), by=user)

    rounds.void_test(test=first, by=user, reason="Typed in twice.")

    for test in (*later, elsewhere):
        test.refresh_from_db()
    assert [test.sequence for test in (*later, elsewhere)] == [1, 2, 1]
    assert [test.deviations for test in later] == [(), ()]
    assert rounds.record_test(test=ring_test(round_), by=user).sequence == 3


def test_a_fixed_location_is_a_spot_of_its_own_for_numbering():
    round_, user = RoundFactory(), UserFactory()
    location = LocationFactory(surface=round_.surface)
    rounds.record_test(test=ring_test(round_), by=user)

    test = rounds.record_test(test=ring_test(round_, spot="", location=location), by=user)

    assert test.sequence == 1


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"elapsed_s": 0.0}, "Elapsed time"),
        ({"test_mass": -3.6}, "Mass of water"),
        ({"ring_diameter": 0.0}, "Ring diameter"),
        ({"ring_diameter": 12.0}, "12 mm looks like 12 in"),
        ({"prewet_time_s": -1.0}, "Prewet time"),
        ({"elapsed_s": float("nan")}, "Elapsed time"),
    ],
)
def test_an_impossible_reading_is_refused_in_words_and_stores_nothing(changes, said):
    round_ = RoundFactory()
    before = version_of(round_.surface)

    with pytest.raises(ValidationError, match=said):
        rounds.record_test(test=ring_test(round_, **changes), by=UserFactory())

    assert not InfiltrationTest.objects.exists()
    assert version_of(round_.surface) == before


def test_a_location_of_another_surface_is_refused_by_name():
    stranger = LocationFactory(label="Z9")

    with pytest.raises(ValidationError, match="Z9 belongs to another surface"):
        rounds.record_test(test=ring_test(RoundFactory(), location=stranger), by=UserFactory())


def test_a_test_without_a_place_is_refused():
    with pytest.raises(ValidationError, match="Say where"):
        rounds.record_test(test=ring_test(RoundFactory(), spot="  "), by=UserFactory())


def test_a_device_that_sends_twice_stores_once():
    round_, device_id = RoundFactory(), uuid4()
    first = rounds.record_test(test=ring_test(round_, device_id=device_id), by=UserFactory())

    second = rounds.record_test(test=ring_test(round_, device_id=device_id), by=UserFactory())

    assert second == first
    assert InfiltrationTest.objects.count() == 1


def taken(round_, minutes, **changes):
    """A ring test at one spot, made so many minutes after noon UTC of the day of the round."""
    noon = datetime(2024, 6, 1, 12, tzinfo=UTC)
    return ring_test(round_, finished_at=noon + timedelta(minutes=minutes), **changes)


def test_tests_of_a_round_stand_in_the_order_they_were_made_in_not_that_they_arrived_in():
    round_, user = RoundFactory(), UserFactory()
    for minutes in (40, 0, 20):
        rounds.record_test(test=taken(round_, minutes, spot=f"after {minutes}"), by=user)

    made = [test.spot for test in round_.tests.all()]

    assert made == ["after 0", "after 20", "after 40"]
    assert [test.spot for test in round_result(round_, "si").tests] == made


def test_the_first_test_at_a_spot_is_the_first_one_made_though_it_arrives_second():
    """The second needs no prewetting of its own, the first does: what arrives late must not change which is which."""
    round_, user = RoundFactory(), UserFactory()
    second = taken(round_, 4, rewetted=False, minutes_since_first=4.0)
    rounds.record_test(test=second, by=user)
    judged_alone = [each.key for each in second.deviations]
    first = rounds.record_test(test=taken(round_, 0), by=user)

    second.refresh_from_db()

    assert (first.sequence, second.sequence) == (1, 2)
    assert "not_prewetted" in judged_alone
    assert [each.key for each in second.deviations] == []


def test_a_device_whose_clock_runs_ahead_is_taken_by_the_time_of_arrival():
    round_ = RoundFactory()
    ahead = ring_test(round_, made_at=now() + timedelta(days=2))

    test = rounds.record_test(test=ahead, by=UserFactory())

    assert test.made_at <= now()


def test_a_correction_keeps_its_place_among_the_tests():
    round_, user = RoundFactory(), UserFactory()
    early = rounds.record_test(test=taken(round_, 0, spot="first"), by=user)
    rounds.record_test(test=taken(round_, 9, spot="second"), by=user)

    rounds.correct_test(old=early, new=ring_test(round_, spot="first"), by=user, reason="Misread.")

    assert [test.spot for test in round_.tests.active()] == ["first", "second"]


def test_a_round_sent_twice_is_stored_once():
    surface, device_id, user = SurfaceFactory(), uuid4(), UserFactory()

    def sent():
        return TestRound(surface=surface, tested_on=date(2024, 5, 1), device_id=device_id)

    first = rounds.record_round(round_=sent(), by=user)

    second = rounds.record_round(round_=sent(), by=user)

    assert second == first
    assert TestRound.objects.count() == 1


def test_a_round_of_tomorrow_is_refused_by_its_date():
    surface = SurfaceFactory()
    tomorrow = surface.site.today() + timedelta(days=1)

    with pytest.raises(ValidationError, match=day_words(tomorrow).replace("\xa0", ".*")):
        rounds.record_round(round_=TestRound(surface=surface, tested_on=tomorrow), by=UserFactory())


def test_today_is_the_day_at_the_site_not_at_the_server():
    """On the line islands (UTC+14) it is already tomorrow for more than half of the UTC day."""
    surface = SurfaceFactory(site=SiteFactory(time_zone="Pacific/Kiritimati"))
    there = surface.site.today()

    round_ = rounds.record_round(round_=TestRound(surface=surface, tested_on=there), by=UserFactory())

    assert round_.tested_on == there


def test_an_acceptance_round_may_lie_a_month_before_opening_but_not_more():
    surface, user = SurfaceFactory(opened_on=date(2024, 5, 1)), UserFactory()

    rounds.record_round(round_=TestRound(surface=surface, tested_on=date(2024, 4, 2)), by=user)

    with pytest.raises(ValidationError, match=r"1.*May.*2024"):
        rounds.record_round(round_=TestRound(surface=surface, tested_on=date(2024, 3, 1)), by=user)


def test_a_corrected_test_counts_instead_of_the_old_one():
    old = InfiltrationTestFactory()
    new = ring_test(old.round, elapsed_s=300.0)
    before = version_of(old.round.surface)

    rounds.correct_test(old=old, new=new, by=UserFactory(), reason="Misread the watch.")

    old.refresh_from_db()
    assert (old.is_active, new.is_active, new.sequence) == (False, True, old.sequence)
    assert new.rate_mm_h == pytest.approx(old.rate_mm_h / 2)
    assert version_of(old.round.surface) == before + 1


def test_an_amended_round_keeps_its_old_values_in_history():
    round_ = RoundFactory(hours_since_rain=48.0)
    round_.hours_since_rain = 6.0

    rounds.amend_round(round_=round_, reason="Asked the neighbour.")

    newest, oldest = round_.history.first(), round_.history.last()
    assert (newest.hours_since_rain, newest.history_change_reason) == (6.0, "Asked the neighbour.")
    assert oldest.hours_since_rain == 48.0


def test_an_amendment_without_a_reason_is_refused():
    with pytest.raises(ValidationError, match="Say why"):
        rounds.amend_round(round_=RoundFactory(), reason="")


@pytest.mark.parametrize(
    "write",
    [
        lambda round_, user: rounds.record_test(test=ring_test(round_), by=user),
        lambda round_, user: rounds.amend_round(round_=round_, reason="The rain."),
        lambda round_, user: rounds.correct_test(
            old=round_.tests.first(), new=ring_test(round_), by=user, reason="The watch."
        ),
    ],
    ids=["record", "amend", "correct"],
)
def test_a_round_set_aside_takes_no_more_changes(write):
    """The page was opened before somebody set the round aside: its copy still counts."""
    round_, user = InfiltrationTestFactory().round, UserFactory()
    old_copy = TestRound.objects.get(pk=round_.pk)
    rounds.void_round(round_=round_, by=user, reason="Wrong surface.")

    with pytest.raises(NotAllowedNowError, match="set aside"):
        write(old_copy, user)

    round_.refresh_from_db()
    assert (round_.state, round_.tests.count()) == ("void", 1)


def test_a_test_set_aside_makes_the_forecast_stale():
    test = InfiltrationTestFactory()
    before = version_of(test.round.surface)

    rounds.void_test(test=test, by=UserFactory(), reason="Leaked.")

    assert version_of(test.round.surface) == before + 1
