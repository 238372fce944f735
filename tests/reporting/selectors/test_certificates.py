"""What the certificate of a round holds, for each audience."""

import json
from datetime import date, timedelta

import pytest

from accounts.calc.audience import Audience
from core.calc.payload import to_payload
from qa.calc.field_readings import FieldReadings
from qa.models import InfiltrationTest, TestRound
from qa.services import rounds
from reporting.calc.values import BoundedRate, UnitText
from reporting.selectors.certificates import certificate_snapshot
from reporting.selectors.handover_tests import acceptance_rounds
from tests.factories import InfiltrationTestFactory, RoundFactory
from tests.reporting.planted import plant

DAY = date(2024, 3, 1)
BY_THE_METHOD = {"prewet_time_s": 20.0, "test_mass": 18.0, "elapsed_s": 100.0}


def accept(firm, **fields):
    """An acceptance round of three spots that reaches the rate asked."""
    firm.surface.acceptance_rate_mm_h = 2540.0
    firm.surface.save()
    made = {"purpose": "acceptance", "tested_on": DAY, "recorded_by": firm.technician, **fields}
    round_ = RoundFactory(surface=firm.surface, **made)
    for spot in ("A", "B", "C"):
        InfiltrationTestFactory(round=round_, spot=spot, recorded_by=firm.technician, **BY_THE_METHOD)
    return round_


def certified(round_, audience=Audience.FIRM):
    return certificate_snapshot(TestRound.objects.get(pk=round_.pk), audience)


def test_a_round_that_reaches_the_rate_passes_with_its_spots_and_the_mean(firm):
    snapshot = certified(accept(firm))

    assert (snapshot.result.reached, snapshot.result.word) == (True, "Passes")
    assert snapshot.result.reason == UnitText(
        "The mean of 9170 mm/h reaches the 2540 mm/h required for acceptance.",
        "The mean of 361 in/h reaches the 100 in/h required for acceptance.",
    )
    assert snapshot.mean == BoundedRate(pytest.approx(9167.3, abs=0.1))
    assert [test.spot for test in snapshot.tests] == ["A", "B", "C"]
    assert (snapshot.limit.rate_mm_h, snapshot.asked.rate_mm_h) == (250.0, 2540.0)
    assert snapshot.departures == ()


def test_the_method_is_named_by_the_standard_written_for_the_surface(firm):
    round_ = accept(firm)
    names = {}
    for kind in ("picp", "pervious_concrete"):
        firm.surface.surface_type = kind
        firm.surface.save()
        (method,) = certified(round_).methods
        names[kind] = method.standard[:20]

    assert method.name == "Constant-head single ring"
    assert names == {"picp": "ASTM C1781/C1781M, w", "pervious_concrete": "ASTM C1701/C1701M, w"}


def test_a_rate_below_the_one_asked_fails(firm):
    round_ = accept(firm)
    firm.surface.acceptance_rate_mm_h = 20_000.0
    firm.surface.save()

    result = certified(round_).result

    assert (result.reached, result.word) == (False, "Fails")


def test_tests_that_the_weather_voids_leave_nothing_to_pass(firm):
    snapshot = certified(accept(firm, hours_since_rain=5.0))

    assert (snapshot.result.reached, snapshot.mean) == (None, None)
    assert snapshot.result.word == "Cannot tell: too few valid tests"
    assert {test.left_out for test in snapshot.tests} == {"it rained less than 24 h before"}
    first = snapshot.departures[0]
    assert (first.where, first.effect) == ("Whole round", "Does not count")


def test_tests_stand_in_the_order_they_were_made_and_not_in_that_of_arrival(firm):
    """On the certificate as in the handover record."""
    round_ = accept(firm)
    first = round_.tests.get(spot="C")
    InfiltrationTest.objects.filter(pk=first.pk).update(made_at=first.made_at - timedelta(hours=1))

    (handed_over,) = acceptance_rounds(firm.surface, Audience.FIRM, {}).rounds

    assert [test.spot for test in certified(round_).tests] == ["C", "A", "B"]
    assert [test.spot for test in handed_over.tests] == ["C", "A", "B"]


def test_a_departure_is_named_once_with_its_spots_and_what_it_does(firm):
    round_ = accept(firm)
    for spot in ("D", "E"):
        InfiltrationTestFactory(round=round_, spot=spot, leak_seen=True, **BY_THE_METHOD)

    (line,) = certified(round_).departures

    assert (line.where, line.effect) == ("D, E", "Counts as an upper bound: the rate is at most this")


def test_a_round_that_was_set_aside_has_no_result(firm):
    round_ = accept(firm)
    rounds.void_round(round_=round_, by=firm.technician, reason="Wrong surface.")
    said = {audience: certified(round_, audience).result for audience in Audience}

    assert {result.reached for result in said.values()} == {None}
    assert {result.word for result in said.values()} == {"No result: the round was set aside"}
    assert "Wrong surface." in said[Audience.OWNER].reason.si
    assert "Wrong surface." not in said[Audience.LINK].reason.si


@pytest.mark.parametrize(
    ("spots", "limit", "reached", "word"),
    [
        (3, 250.0, True, "No spot below the limit"),
        (2, 250.0, None, "Cannot tell: 1 spot too few"),
        (3, 20_000.0, False, "3 of 3 spots below the limit"),
        (0, 250.0, None, "No result"),
    ],
)
def test_a_routine_round_is_held_against_the_limit_alone(firm, spots, limit, reached, word):
    firm.surface.limit_mm_h = limit
    firm.surface.save()
    round_ = RoundFactory(surface=firm.surface, purpose="routine")
    for spot in range(spots):
        InfiltrationTestFactory(round=round_, spot=f"S{spot}", **BY_THE_METHOD)

    result = certified(round_).result

    assert (result.reached, result.word) == (reached, word)


def test_spots_that_are_only_bounds_below_nothing_cannot_tell(firm):
    firm.surface.limit_mm_h = 5000.0
    firm.surface.save()
    round_ = RoundFactory(surface=firm.surface, purpose="routine")
    for spot in "ABC":
        InfiltrationTestFactory(round=round_, spot=spot, leak_seen=spot == "A", **BY_THE_METHOD)

    result = certified(round_).result

    assert (result.reached, result.word) == (None, "Cannot tell: 1 of 3 spots only bounded")


def test_who_tested_is_told_to_the_firm_and_the_owner_alone(firm):
    round_ = accept(firm)

    told = {audience: certified(round_, audience).tested_by for audience in Audience}

    name = str(firm.technician)
    assert told == {Audience.FIRM: name, Audience.OWNER: name, Audience.LINK: ""}


def test_tests_set_aside_are_counted_and_not_listed(firm):
    round_ = accept(firm)
    test = InfiltrationTest.objects.filter(round=round_).first()
    rounds.void_test(test=test, by=firm.technician, reason="Wrong spot.")

    snapshot = certified(round_)

    assert (snapshot.set_aside, len(snapshot.tests)) == (1, 2)
    assert certified(round_, Audience.LINK).set_aside == 0
    assert snapshot.result.word == "Cannot tell yet"


def test_a_bucket_poured_out_gives_no_result(firm):
    round_ = RoundFactory(surface=firm.surface, purpose="routine")
    readings = FieldReadings({"volume": 10.0, "wetted_area": 1.0, "reference": None})
    test = InfiltrationTest(round=round_, spot="A", method="spreading_area", readings=readings)
    rounds.record_test(test=test, by=firm.technician)

    snapshot = certified(round_)

    assert (snapshot.result.reached, snapshot.result.word, snapshot.mean) == (None, "No result", None)
    assert snapshot.methods[0].caution.startswith("Screening only")


def test_notes_of_the_firm_stand_in_no_certificate(firm):
    round_ = plant(firm).rounds.get(purpose="acceptance")

    texts = {audience: json.dumps(to_payload(certified(round_, audience))) for audience in Audience}

    assert [audience for audience, text in texts.items() if "note-of" in text] == []
    assert "Tessa Technician" in texts[Audience.OWNER]
    assert "Tessa Technician" not in texts[Audience.LINK]


def test_ten_spots_take_no_more_queries_than_three(firm, django_assert_num_queries):
    round_ = accept(firm)
    with django_assert_num_queries(1000, exact=False) as few:
        certified(round_)
    for spot in "DEFGHIJ":
        InfiltrationTestFactory(round=round_, spot=spot, recorded_by=firm.coordinator, **BY_THE_METHOD)

    with django_assert_num_queries(len(few)):
        snapshot = certified(round_)

    assert str(firm.coordinator) in snapshot.tested_by
