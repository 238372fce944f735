"""What the clogging model is told of a surface."""

from datetime import date

import pytest

from clogging import api
from core.calc.paving import TestMethod
from maintenance.selectors.histories import histories_of
from maintenance.selectors.records import record_of
from qa.calc.methods import METHODS, Gives
from qa.models import InfiltrationTest
from qa.services import rounds
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    field_readings,
)

FLOOD = {
    "dam_tight": True,
    "runs": [{"level_start": 90.0, "level_end": 60.0, "elapsed_s": 720.0}] * 3,
}


def record(firm, round_, method, readings):
    test = InfiltrationTest(round=round_, method=method, spot="gate", readings=field_readings(readings))
    return rounds.record_test(test=test, by=firm.technician)


def events_of(firm):
    (recorded,) = histories_of([firm.surface])
    return recorded.history.events


def test_the_model_knows_every_recordable_method_that_gives_a_rate():
    assert {m for m, facts in METHODS.items() if facts.gives is Gives.RATE} == set(api.TEST_METHODS)


def test_each_method_is_an_event_of_its_own_with_the_rate_as_measured(firm):
    round_ = RoundFactory(surface=firm.surface)
    ring = InfiltrationTestFactory(round=round_)
    record(firm, round_, TestMethod.FLOODING, FLOOD)

    events = events_of(firm)

    assert [(e.method, [t.rate_mm_h for t in e.tests]) for e in events] == [
        ("ring", [pytest.approx(ring.rate_mm_h)]),
        ("flooding", [pytest.approx(150)]),
    ]


@pytest.mark.parametrize(
    ("method", "readings"),
    [
        (TestMethod.SPREADING_AREA, {"volume": 10.0, "wetted_area": 2.0}),
        (TestMethod.OUTFLOW_METER, {"outlet_only_s": 2.0, "frozen": False, "runs": [{"outflow_s": 12.0}]}),
    ],
)
def test_screening_and_relative_results_never_reach_the_model(firm, method, readings):
    record(firm, RoundFactory(surface=firm.surface), method, readings)

    assert events_of(firm) == ()
    (item,) = record_of(firm.surface, None)
    assert (item.mean_mm_h, item.others) == (None, [method.in_sentence])


def test_two_rounds_of_one_day_by_one_method_are_one_event(firm):
    for _ in range(2):
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))

    (event,) = events_of(firm)

    assert len(event.tests) == 2


def test_a_cleaning_between_two_rounds_of_one_day_parts_them(firm):
    day = date(2024, 6, 1)
    for purpose in ("before_cleaning", "after_cleaning"):
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=day, purpose=purpose))
    CleaningFactory(surface=firm.surface, cleaned_on=day)

    kinds = [type(event).__name__ for event in events_of(firm)]

    assert kinds == ["RoundEvent", "CleaningEvent", "RoundEvent"]


def test_repeats_at_a_spot_are_one_look_at_the_surface(firm):
    round_, location = RoundFactory(surface=firm.surface), LocationFactory(surface=firm.surface)
    pair = [InfiltrationTestFactory(round=round_, location=location, elapsed_s=t) for t in (100.0, 120.0)]

    (event,) = events_of(firm)

    (spot,) = event.tests
    assert spot.rate_mm_h == pytest.approx(sum(test.rate_mm_h for test in pair) / 2)
    assert spot.location == str(location.pk)


def test_repeats_bounded_on_both_sides_stay_two(firm):
    round_, location = RoundFactory(surface=firm.surface), LocationFactory(surface=firm.surface)
    for ended in ("still_ponded", "too_fast"):
        InfiltrationTestFactory(round=round_, location=location, ended=ended)

    (event,) = events_of(firm)

    assert [test.bound for test in event.tests] == ["<", ">"]
