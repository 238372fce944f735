"""What a round says, put together: which method speaks for it, what counts, what is still to be tested, and what the
next test at a spot can take over."""

from datetime import UTC, date, datetime, timedelta

import pytest

from qa.models import InfiltrationTest
from qa.selectors.rounds import (
    last_ring_position,
    last_ring_rates,
    latest_acceptance_round,
    latest_mean,
    needed_locations,
    result_of,
    round_result,
    spots_tested,
    test_before,
)
from tests.factories import (
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SurfaceFactory,
    UserFactory,
    field_readings,
)

test_before.__test__ = False  # it finds the test before, and is none itself
DAY = timedelta(days=1)
FIRST = date(2024, 6, 1)
RING_150_S = 4_583_666_000 * 3.6 / (300.0**2 * 150.0)  # ASTM C1701/C1701M; constant from memory
SLOW = {"elapsed_s": 300.0}  # half of it
VOID = {"prewet_time_s": 12.0}  # 3.6 kg where 18 kg are asked


@pytest.fixture
def surface(firm):
    return firm.surface


@pytest.fixture
def round_(surface):
    return RoundFactory(surface=surface, tested_on=FIRST)


def ring(round_, **changes):
    return InfiltrationTestFactory(round=round_, **changes)


def bucket(round_, **where):
    """A relative test, which gives no rate: 10 L that wetted 1.5 m²."""
    readings = field_readings({"volume": 10.0, "wetted_area": 1.5})
    return InfiltrationTestFactory(round=round_, method="spreading_area", readings=readings, **where)


def at(minute):
    return datetime(2024, 6, 1, 9, minute, tzinfo=UTC)


def test_two_tests_at_a_spot_are_one_spot_with_their_mean(round_):
    ring(round_, spot="gate", made_at=at(1))
    ring(round_, spot="gate", made_at=at(9), sequence=2, **SLOW)
    ring(round_, spot="tree", made_at=at(20))

    result = round_result(round_, "si")

    rates = {spot.place: spot.rate.rate_mm_h for spot in result.leading.spots}
    assert rates == pytest.approx({"gate": 0.75 * RING_150_S, "tree": RING_150_S})
    assert (result.spots, result.leading.is_ring) == (2, True)
    assert result.statistics.mean.rate_mm_h == pytest.approx(0.875 * RING_150_S)


def test_a_location_and_a_spot_in_the_same_words_are_two_places(surface, round_):
    ring(round_, spot="", location=LocationFactory(surface=surface, label="gate"))
    ring(round_, spot="gate")

    assert round_result(round_, "si").spots == 2


def test_what_gives_no_rate_is_shown_and_speaks_for_nothing(round_):
    alone = bucket(round_)

    result = round_result(round_, "si")

    assert result.shown_only == [alone]
    assert (result.leading, result.statistics, result.against_limit, result.ring) == (None,) * 4
    assert result.has_tests
    assert result.asks_for_spots  # nothing with a rate stands there yet
    assert result.still_needed == result.needed


def test_the_ring_speaks_for_a_round_whatever_was_used_first(round_):
    bucket(round_, made_at=at(1))
    ring(round_, made_at=at(30))

    result = round_result(round_, "si")

    assert result.leading.is_ring
    assert len(result.tests) == 2


def test_tests_stand_in_the_record_whether_they_count_or_not(round_):
    late, early = ring(round_, spot="B", made_at=at(9)), ring(round_, spot="A", made_at=at(1), **VOID)
    gone = ring(round_, spot="C", made_at=at(5), state="void", state_reason="Twice.")

    result = round_result(round_, "si")

    assert (list(result.tests), list(result.invalid), list(result.left_out)) == ([late], [early], [gone])
    assert result.standing == [early, late]
    assert result.has_tests


def test_a_round_without_a_test_asks_for_all_of_its_spots_and_deviates_from_nothing(surface, round_):
    result = round_result(round_, "si")

    assert not result.has_tests
    assert list(result.deviations) == []
    assert result.still_needed == result.needed == needed_locations(surface, "si") == 3


@pytest.mark.parametrize(("tested", "still"), [(1, 2), (3, 0), (5, 0)])
def test_spots_are_asked_for_until_there_are_enough(round_, tested, still):
    for number in range(tested):
        ring(round_, spot=f"S{number}")

    assert round_result(round_, "si").still_needed == still


def test_locations_to_do_are_those_without_a_test_that_counts_and_not_the_retired(surface, round_):
    done, void, free = (LocationFactory(surface=surface, label=label) for label in "ABC")
    LocationFactory(surface=surface, label="D", retired=True)
    LocationFactory(label="E")  # of another surface
    ring(round_, spot="", location=done)
    ring(round_, spot="", location=void, **VOID)

    assert round_result(round_, "si").to_do == [void, free]


def test_tests_that_were_read_already_cost_no_query(round_, django_assert_num_queries):
    ring(round_)
    ring(round_, spot="", location=LocationFactory(surface=round_.surface), **VOID)
    tests = list(round_.tests.select_related("location", "replaces"))

    with django_assert_num_queries(0):
        result = result_of(round_, tests, "si")

    assert (len(result.tests), len(result.invalid)) == (1, 1)


def test_the_latest_round_with_a_rate_that_counts_gives_the_mean(surface, round_):
    ring(round_)
    for days, changes in ((1, SLOW), (2, VOID)):
        ring(RoundFactory(surface=surface, tested_on=FIRST + days * DAY), **changes)
    ring(RoundFactory(surface=surface, tested_on=FIRST + 3 * DAY, state="void", state_reason="Rain."))
    bucket(RoundFactory(surface=surface, tested_on=FIRST + 4 * DAY))
    ring(RoundFactory(tested_on=FIRST + 5 * DAY))  # of another surface

    found = latest_mean(surface)

    assert found.mean.rate_mm_h == pytest.approx(RING_150_S / 2)
    assert found.method == "ring"


def test_an_untested_surface_has_no_mean(surface, round_):
    ring(round_, **VOID)

    assert latest_mean(surface) is None


def test_a_location_is_told_by_its_own_newest_round_that_counts(surface, round_):
    often, once, never = (LocationFactory(surface=surface, label=label) for label in "ABC")
    ring(round_, spot="", location=once, **SLOW)
    ring(round_, spot="", location=often)
    newer = RoundFactory(surface=surface, tested_on=FIRST + DAY)
    ring(newer, spot="", location=often, made_at=at(1))
    ring(newer, spot="", location=often, made_at=at(9), sequence=2, **SLOW)
    ring(RoundFactory(surface=surface, tested_on=FIRST + 2 * DAY), spot="", location=often, **VOID)
    bucket(RoundFactory(surface=surface, tested_on=FIRST + 3 * DAY), spot="", location=often)

    found = last_ring_rates([often, once, never])

    rates = {place: rate.rate_mm_h for place, rate in found.items()}
    assert rates == pytest.approx({often.pk: 0.75 * RING_150_S, once.pk: RING_150_S / 2})


def test_what_the_ring_last_read_takes_one_query_for_all_locations(
    surface, round_, django_assert_num_queries
):
    places = [LocationFactory(surface=surface) for _ in range(4)]
    for place in places:
        ring(round_, spot="", location=place)

    with django_assert_num_queries(1):
        assert len(last_ring_rates(places)) == 4


def test_the_latest_acceptance_round_that_counts_decides(surface, round_):
    kept = RoundFactory(surface=surface, tested_on=FIRST + DAY, purpose="acceptance")
    RoundFactory(surface=surface, tested_on=FIRST, purpose="acceptance")
    RoundFactory(
        surface=surface, tested_on=FIRST + 2 * DAY, purpose="acceptance", state="void", state_reason="Wet."
    )

    assert latest_acceptance_round(surface) == kept
    assert latest_acceptance_round(SurfaceFactory()) is None


def test_a_repeat_is_guided_by_the_first_test_at_its_spot(surface, round_):
    place = LocationFactory(surface=surface)
    ring(round_, spot="", location=place, made_at=at(1), finished_at=at(4))
    ring(round_, spot="", location=place, made_at=at(9), sequence=2, **SLOW)
    ring(round_, spot="gate", made_at=at(20), finished_at=None, **VOID)

    seen = spots_tested(round_)

    there, gate = seen[str(place.pk)], seen["spot gate"]
    assert (there["tests"], there["ended_ms"]) == (2, at(4).timestamp() * 1000)
    assert there["rate_mm_h"] == pytest.approx(RING_150_S)
    assert (gate["tests"], gate["ended_ms"], gate["rate_mm_h"]) == (1, None, None)


@pytest.mark.parametrize(
    ("prewet_time_s", "mass"), [(29.9, 18.0), (30.0, 3.6), (None, 3.6)], ids=["fast", "slow", "not told"]
)
def test_a_repeat_takes_the_mass_that_the_first_prewetting_asks_for(round_, prewet_time_s, mass):
    """18 kg where prewetting took under 30 s, else 3.6 (ASTM C1701/C1701M, from memory)."""
    ring(round_, spot="gate", prewet_time_s=prewet_time_s)

    assert spots_tested(round_)["spot gate"]["test_mass"] == mass


def test_a_test_that_is_corrected_is_guided_by_those_before_it_alone(round_):
    ring(round_, spot="gate", made_at=at(1))
    second = ring(round_, spot="gate", made_at=at(9), sequence=2)

    assert spots_tested(round_, second)["spot gate"]["tests"] == 1
    assert spots_tested(round_)["spot gate"]["tests"] == 2


def test_the_next_test_takes_over_from_the_persons_own_last_one(round_):
    mine, other, new = UserFactory(), UserFactory(), UserFactory()
    own = ring(round_, spot="A", made_at=at(1), recorded_by=mine)
    ring(round_, spot="A2", made_at=at(0), recorded_by=mine)
    newest = ring(round_, spot="B", made_at=at(9), recorded_by=other)

    assert test_before(round_, "ring", mine) == own
    assert test_before(round_, "ring", new) == newest
    assert test_before(round_, "frame", mine) is None


def test_a_repeat_without_prewetting_and_what_was_set_aside_hand_nothing_over(round_):
    person = UserFactory()
    first = ring(round_, spot="A", made_at=at(1), recorded_by=person)
    ring(round_, spot="A", made_at=at(5), sequence=2, rewetted=False, prewet_time_s=None, recorded_by=person)
    ring(round_, spot="B", made_at=at(9), state="void", state_reason="Twice.", recorded_by=person)

    assert test_before(round_, "ring", person) == first


def test_where_the_ring_sat_is_told_by_the_newest_test_that_says_so(surface, round_):
    place = LocationFactory(surface=surface)
    ring(round_, spot="", location=place, ring_position="over the joint")
    newer = RoundFactory(surface=surface, tested_on=FIRST + DAY)
    ring(newer, spot="", location=place, ring_position="two bricks from the kerb", made_at=at(1))
    ring(newer, spot="", location=place, ring_position="", made_at=at(9), sequence=2)

    assert last_ring_position(place) == "two bricks from the kerb"
    assert last_ring_position(LocationFactory(surface=surface)) == ""
    assert last_ring_position(None) == ""
    assert InfiltrationTest.objects.filter(location=place).count() == 3
