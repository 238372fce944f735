"""What the clogging model is told of a surface."""

from datetime import date

import pytest

from clogging import api
from core.calc.paving import TestMethod
from maintenance.selectors.histories import histories_of
from maintenance.selectors.records import record_of
from qa.calc.methods import METHODS, Gives
from qa.calc.outlines import SurfacePlan
from qa.models import InfiltrationTest
from qa.services import rounds
from qa.services.plans import save_plan
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


def save_yard(surface):
    """An outline of 50 m by 20 m whose first side receives run-on."""
    outline = ((0.0, 0.0), (50.0, 0.0), (50.0, 20.0), (0.0, 20.0))
    save_plan(surface=surface, plan=SurfacePlan(outline, (0,)), spots=(), keep_locations=True)


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


def test_spots_weigh_by_the_area_of_their_zone_in_the_plan(firm):
    """A strip of 50 m by 1.5 m on a yard of 1000 m2, two spots inside: 75, 462.5 and 462.5 m2."""
    save_yard(firm.surface)
    round_ = RoundFactory(surface=firm.surface)
    for label, zone in (("A", "edge"), ("B", "interior"), ("C", "interior")):
        place = LocationFactory(surface=firm.surface, label=label, zone=zone)
        InfiltrationTestFactory(round=round_, location=place)

    (event,) = events_of(firm)

    assert sorted(spot.weight for spot in event.tests) == pytest.approx([75.0, 462.5, 462.5])


def test_without_a_zone_for_every_spot_all_weigh_alike(firm):
    save_yard(firm.surface)
    round_ = RoundFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, location=LocationFactory(surface=firm.surface, zone="edge"))
    InfiltrationTestFactory(round=round_, spot="by the gate")

    (event,) = events_of(firm)

    assert [spot.weight for spot in event.tests] == [1.0, 1.0]


def test_a_changed_plan_makes_the_forecast_stale(firm):
    before = firm.surface.record_version

    save_yard(firm.surface)

    firm.surface.refresh_from_db()
    assert firm.surface.record_version > before
