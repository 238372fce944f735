"""Rounds and tests by the thousand are what they are one by one."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.errors import NotAllowedNowError
from qa.calc.field_readings import FieldReadings
from qa.models import InfiltrationTest, TestRound
from qa.services.batches import record_rounds, record_tests
from qa.services.rounds import record_round, record_test, void_round
from tests.clock import TODAY
from tests.factories import LocationFactory, RoundFactory

WORKED_OUT = ("rate_mm_h", "bound", "own_value", "deviations_json", "is_valid", "sequence", "recorded_by_id")


def ring(round_, location, minutes, **changes):
    values = {"test_mass": 18.0, "ring_diameter": 300.0, "elapsed_s": 300.0, "prewet_time_s": 25.0} | changes
    made = now() - timedelta(hours=1) + timedelta(minutes=minutes)
    return InfiltrationTest(round=round_, location=location, made_at=made, **values)


def bucket(round_, location, minutes):
    once = {"volume": 10.0, "wetted_area": 1.5}
    made = now() - timedelta(hours=1) + timedelta(minutes=minutes)
    return InfiltrationTest(
        round=round_, location=location, made_at=made, method="spreading_area", readings=FieldReadings(once)
    )


def several(round_, location):
    return [
        ring(round_, location, 3, elapsed_s=400.0),
        ring(round_, location, 1),
        ring(round_, location, 5, rewetted=False, prewet_time_s=None, minutes_since_first=10.0),
        ring(round_, None, 2, spot="By the gate", leak_seen=True),
        ring(round_, None, 4, spot="By the gate", ended="still_ponded", elapsed_s=1800.0),
        bucket(round_, location, 6),
    ]


def stored(round_):
    rows = InfiltrationTest.objects.filter(round=round_).order_by("made_at")
    return [tuple(getattr(row, name) for name in WORKED_OUT) for row in rows]


def test_tests_stored_together_are_as_those_stored_one_by_one(firm):
    singly, together = RoundFactory(surface=firm.surface), RoundFactory(surface=firm.surface)
    location = LocationFactory(surface=firm.surface)
    for test in several(singly, location):
        record_test(test=test, by=firm.technician)
    InfiltrationTest.objects.filter(method="spreading_area").update(
        state="void"
    )  # else it is the other's reference

    refused = record_tests(tests=several(together, location), by=firm.technician)

    assert refused == {}
    assert stored(together) == stored(singly)


def test_what_is_impossible_is_refused_alone(firm):
    round_ = RoundFactory(surface=firm.surface)
    good, bad = ring(round_, None, 1, spot="A"), ring(round_, None, 2, spot="B", elapsed_s=-1.0)
    far = ring(round_, LocationFactory(), 3)

    refused = record_tests(tests=[good, bad, far], by=firm.technician)

    assert refused.keys() == {bad.pk, far.pk}
    assert all(isinstance(error, ValidationError) for error in refused.values())
    assert list(InfiltrationTest.objects.filter(round=round_)) == [good]


def test_no_test_comes_into_a_round_that_was_set_aside(firm):
    round_ = RoundFactory(surface=firm.surface)
    void_round(round_=round_, by=firm.technician, reason="Rained.")
    test = ring(round_, None, 1, spot="A")

    refused = record_tests(tests=[test], by=firm.technician)

    assert isinstance(refused[test.pk], NotAllowedNowError)
    assert not round_.tests.exists()


def test_rounds_stored_together_have_their_history_and_their_rules(firm):
    good = TestRound(surface=firm.surface, tested_on=TODAY)
    future = TestRound(surface=firm.surface, tested_on=TODAY + timedelta(days=9))
    wrong = TestRound(surface=firm.surface, tested_on=TODAY, purpose="nonsense")

    refused = record_rounds(rounds=[good, future, wrong], by=firm.technician)

    single = record_round(round_=TestRound(surface=firm.surface, tested_on=TODAY), by=firm.technician)
    assert refused.keys() == {future.pk, wrong.pk}
    assert TestRound.objects.get(pk=good.pk).recorded_by == single.recorded_by
    history = TestRound.history.get(id=good.pk)
    assert (history.history_user, history.history_type) == (
        firm.technician,
        single.history.get().history_type,
    )


@pytest.mark.parametrize("count", [0, 1])
def test_a_version_rises_once_for_all(firm, count):
    round_, before = RoundFactory(surface=firm.surface), firm.surface.record_version
    record_tests(tests=[ring(round_, None, n, spot=f"S{n}") for n in range(3 * count)], by=firm.technician)

    firm.surface.refresh_from_db()
    assert firm.surface.record_version == before + count
