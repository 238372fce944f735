"""A round led through steps at random, as phones send and people correct: what is stored is what the readings give."""

from copy import copy
from datetime import timedelta
from random import Random

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from core.errors import AlreadyDoneError, NotAllowedNowError
from qa.models import InfiltrationTest, Surface, TestRound
from qa.selectors.rounds import round_result
from qa.services import rounds
from tests.clock import TODAY
from tests.factories import LocationFactory, RoundFactory

pytestmark = pytest.mark.django_db
REFUSALS = (ValidationError, NotAllowedNowError, AlreadyDoneError)
STEPS = 18
WORKED_OUT = ("rate_mm_h", "bound", "own_value", "own_unit", "deviations_json", "is_valid")
TAKEN = (
    "test_mass",
    "ring_diameter",
    "elapsed_s",
    "prewet_time_s",
    "spot",
    "location",
    "rewetted",
    "leak_seen",
)


class Walk:
    """A round with a location, and tests that arrive in any order and are corrected."""

    def __init__(self, firm, seed):
        self.rng, self.by = Random(seed), firm.technician
        self.round = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1))
        self.place = LocationFactory(surface=firm.surface)
        self.done = 0

    def step(self):
        try:
            self.rng.choice([self.record, self.record, self.correct, self.correct, self.weather])()
            self.done += 1
        except (*REFUSALS, IndexError):  # refused, or there is nothing to correct yet
            pass

    def where(self):
        return self.rng.choice([{"location": self.place}, {"spot": "gate"}, {"spot": "tree"}])

    def readings(self):
        """Some with the large mass, some dry repeats, some past a leaking seal, and now and then an impossible one."""
        dry = self.rng.random() < 0.25
        return {
            "test_mass": self.rng.choice([3.6, 18.0]),
            "ring_diameter": 300.0,
            "elapsed_s": self.rng.choice([150.0, 600.0, 60.0, -1.0]),
            "prewet_time_s": None if dry else self.rng.choice([12.0, 45.0]),
            "rewetted": not dry,
            "minutes_since_first": 4.0 if dry else None,
            "leak_seen": self.rng.random() < 0.2,
        }

    def record(self):
        made_at = now() - timedelta(hours=3) + timedelta(minutes=self.rng.randrange(100))
        test = InfiltrationTest(round=self.round, made_at=made_at, **self.where(), **self.readings())
        rounds.record_test(test=test, by=self.by)

    def correct(self):
        old = self.rng.choice(list(self.round.tests.active().order_by("created_at")))
        values = {name: getattr(old, name) for name in TAKEN}
        if self.rng.random() < 0.5:
            values |= {"spot": "", "location": None} | self.where()
        else:
            values |= self.readings()
        new = InfiltrationTest(**values)
        rounds.correct_test(old=old, new=new, by=self.by, reason="Written down wrongly.")

    def weather(self):
        round_ = TestRound.objects.get(pk=self.round.pk)
        round_.hours_since_rain = self.rng.choice([2.0, 48.0, None])
        rounds.amend_round(round_=round_, reason="Asked the owner.")
        self.round = round_


@pytest.mark.parametrize("seed", range(8))
def test_whatever_arrives_numbers_and_judgements_are_those_of_the_readings(firm, seed):
    walk, version = Walk(firm, seed), firm.surface.record_version

    for _ in range(STEPS):
        before = walk.done
        walk.step()
        assert_numbered_by_time(walk.round)
        assert_worked_out_anew_it_is_the_same(walk.round)
        assert_nothing_is_lost(walk.round)
        changed = Surface.objects.get(pk=firm.surface.pk).record_version
        assert (changed > version) == (walk.done > before)
        version = changed

    assert walk.done > STEPS / 3, "too little happened to tell"


def by_spot(round_):
    found = {}
    for test in round_.tests.active().order_by("made_at", "created_at"):
        found.setdefault((test.location_id, "" if test.location_id else test.spot), []).append(test)
    return found


def assert_numbered_by_time(round_):
    """From one on without a gap; tests of one minute may stand either way round."""
    for tests in by_spot(round_).values():
        assert sorted(test.sequence for test in tests) == list(range(1, len(tests) + 1))
        times = [test.made_at for test in sorted(tests, key=lambda test: test.sequence)]
        assert times == sorted(times)


def assert_worked_out_anew_it_is_the_same(round_):
    """What is stored of each test is what its readings, its number and the first at its spot give now."""
    for test in round_.tests.active().select_related("round__surface", "location"):
        again = copy(test)
        rounds.evaluate(again)
        for name in WORKED_OUT:
            assert getattr(again, name) == getattr(test, name), (name, test.sequence, test.spot)


def assert_nothing_is_lost(round_):
    """Every test that was ever stored is read: it counts, does not count, or was replaced by one that is there."""
    result = round_result(TestRound.objects.get(pk=round_.pk), "si")

    told = [*result.tests, *result.invalid, *result.left_out]
    assert {test.pk for test in told} == set(round_.tests.values_list("pk", flat=True))
    for test in result.left_out:
        assert InfiltrationTest.objects.filter(replaces=test).count() == 1
