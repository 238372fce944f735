"""Recording, correcting and showing tests by every method, from the form to the round's page."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from accounts.calc.audience import Audience
from core.calc.paving import TestMethod
from qa.forms.field_tests import FieldTestForm, form_for, values_of
from qa.models import InfiltrationTest
from qa.selectors.rounds import round_result
from qa.services import rounds
from reporting.selectors.handover_tests import acceptance_rounds
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory, SurfaceFactory
from tests.pages import as_shown

TYPED = {
    TestMethod.FALLING_HEAD: {
        "standpipe_diameter": "100",
        "contact_diameter": "150",
        "layer_thickness": "80",
        "run1_head_start": "400",
        "run1_head_end": "200",
        "run1_elapsed_s": "33.1",
        "run2_head_start": "400",
        "run2_head_end": "200",
        "run2_elapsed_s": "35",
    },
    TestMethod.SQUARE_DOUBLE_RING: {
        "inner_side": "1000",
        "drop": "20",
        "outer_level": "on",
        "run1_elapsed_s": "240",
        "ended": "drained",
    },
    TestMethod.FLOODING: {
        "dam_tight": "on",
        **{f"run{n}_level_start": "90" for n in (1, 2, 3)},
        **{f"run{n}_level_end": "60" for n in (1, 2, 3)},
        **{f"run{n}_elapsed_s": "720" for n in (1, 2, 3)},
    },
    TestMethod.FRAME: {
        "length": "600",
        "width": "600",
        "volume": "18",
        "elapsed_s": "180",
        "ended": "drained",
    },
    TestMethod.SPREADING_AREA: {"volume": "10", "wetted_area": "1.8"},
    TestMethod.OUTFLOW_METER: {"outlet_only_s": "2", "run1_outflow_s": "12"},
}
EXPECTED_MM_H = {TestMethod.SQUARE_DOUBLE_RING: 300, TestMethod.FLOODING: 150, TestMethod.FRAME: 1000}
RING = {
    "unit_system": "si",
    "test_mass": "3.6",
    "ring_diameter": "300",
    "elapsed_s": "150",
    "ended": "drained",
    "rewetted": "on",
    "prewet_mass": "3.6",
    "prewet_time_s": "45",
    "start_delay_s": "60",
}


def typed(method, **more):
    return {"unit_system": "si", "spot": "gate", **TYPED[method], **more}


def recorded(firm, method, round_=None, **more):
    """A test recorded through its form."""
    test = InfiltrationTest(round=round_ or RoundFactory(surface=firm.surface), method=method)
    form = form_for(test, typed(method, **more), {})
    assert form.is_valid(), form.errors
    return rounds.record_test(test=test, by=firm.technician)


@pytest.mark.parametrize("method", TYPED)
def test_a_technician_records_a_test_by_each_method(client, firm, method):
    round_ = RoundFactory(surface=firm.surface)
    client.force_login(firm.technician)

    page = client.get(reverse("qa:test-create", args=[round_.pk]), {"method": method})
    sent = client.post(f"{reverse('qa:test-create', args=[round_.pk])}?method={method}", typed(method))

    assert page.status_code == 200
    assert sent.status_code == 302, sent.context["form"].errors
    test = round_.tests.get()
    assert test.method == method
    assert test.rate_mm_h == (
        pytest.approx(EXPECTED_MM_H[method]) if method in EXPECTED_MM_H else test.rate_mm_h
    )
    assert client.get(test.get_absolute_url()).status_code == 200
    assert client.get(round_.get_absolute_url()).status_code == 200


@pytest.mark.parametrize("method", TYPED)
def test_a_correction_keeps_the_method_and_the_old_readings(client, firm, method):
    old = recorded(firm, method)
    client.force_login(firm.technician)
    page = client.get(reverse("qa:test-correct", args=[old.pk]))

    sent = client.post(
        reverse("qa:test-correct", args=[old.pk]), typed(method, spot="other gate", reason="Wrong spot.")
    )

    assert page.context["form"].initial.keys() >= set(TYPED[method])
    assert sent.status_code == 302, sent.context["form"].errors
    old.refresh_from_db()
    assert (old.state, old.state_reason, old.spot) == ("replaced", "Wrong spot.", "gate")
    assert (old.replaced_by.method, old.replaced_by.spot) == (method, "other gate")
    assert old.replaced_by.readings == old.readings


@pytest.mark.parametrize("method", TYPED)
def test_what_the_correction_form_shows_is_what_was_recorded(firm, method):
    test = recorded(firm, method)

    shown = values_of(test)

    again = InfiltrationTest(round=test.round, method=method)
    form = form_for(again, {key: value for key, value in shown.items() if value not in (None, False)}, {})
    assert form.is_valid(), form.errors
    rounds.evaluate(again)
    assert (again.rate_mm_h, again.own_value) == (test.rate_mm_h, test.own_value)


@pytest.mark.parametrize("method", [TestMethod.SPREADING_AREA, TestMethod.OUTFLOW_METER])
def test_screening_and_relative_results_are_shown_but_never_counted(client, firm, method):
    round_ = RoundFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, elapsed_s=150.0)
    before = round_result(round_, "si")
    test = recorded(firm, method, round_)
    client.force_login(firm.viewer)

    after = round_result(round_, "si")

    assert test.rate_mm_h is None
    assert after.statistics == before.statistics
    assert after.against_limit == before.against_limit
    assert after.shown_only == [test]
    assert "no part of any mean" in client.get(round_.get_absolute_url()).content.decode()


def test_methods_are_never_pooled(firm):
    round_ = RoundFactory(surface=firm.surface)
    ring = InfiltrationTestFactory(round=round_)
    falling = recorded(firm, TestMethod.FALLING_HEAD, round_)

    result = round_result(round_, "si")

    assert [(m.method, m.statistics.mean.rate_mm_h) for m in result.methods] == [
        (TestMethod.RING, ring.rate_mm_h),
        (TestMethod.FALLING_HEAD, falling.rate_mm_h),
    ]


def test_a_falling_head_is_held_against_the_limit_by_its_converted_range(client, firm):
    surface = SurfaceFactory(site=firm.site, limit_mm_h=1000.0)  # the reading of 2600 could be 260 to 1300
    round_ = RoundFactory(surface=surface)
    recorded(firm, TestMethod.FALLING_HEAD, round_)
    client.force_login(firm.viewer)

    (result,) = round_result(round_, "si").methods
    page = as_shown(client.get(round_.get_absolute_url()).content.decode())

    assert result.converted
    assert (result.against_limit.below, result.against_limit.undecided) == (0, 1)
    assert "converted: a ring might read" in page


def test_the_number_of_spots_is_asked_of_ring_rounds_alone(firm):
    flooded, ringed = RoundFactory(surface=firm.surface), RoundFactory(surface=firm.surface)
    recorded(firm, TestMethod.FLOODING, flooded)
    InfiltrationTestFactory(round=ringed)

    assert [d.key for d in round_result(flooded, "si").deviations] == []
    assert [d.key for d in round_result(ringed, "si").deviations] == ["too_few_locations"]


def test_a_spread_takes_the_first_one_at_its_location_as_reference(firm):
    location = LocationFactory(surface=firm.surface)
    first = RoundFactory(surface=firm.surface, tested_on="2024-05-01")
    first.refresh_from_db()
    recorded(firm, TestMethod.SPREADING_AREA, first, location=str(location.pk))

    second = recorded(firm, TestMethod.SPREADING_AREA, location=str(location.pk), wetted_area="3.6")

    assert second.readings.once["reference"] == pytest.approx(0.18)


def test_a_half_filled_run_is_refused_beside_the_missing_field(firm):
    test = InfiltrationTest(round=RoundFactory(surface=firm.surface), method=TestMethod.FLOODING)
    data = typed(TestMethod.FLOODING, run4_level_start="80")

    form = FieldTestForm(data, instance=test)

    assert form.errors["run4_level_end"] == [
        "Flooding 4 is half filled in. Enter level at the end too, or empty the row."
    ]


def test_a_test_without_any_run_is_refused(firm):
    test = InfiltrationTest(round=RoundFactory(surface=firm.surface), method=TestMethod.OUTFLOW_METER)

    form = FieldTestForm({"unit_system": "si", "spot": "gate", "outlet_only_s": "2"}, instance=test)

    assert form.errors["run1_outflow_s"] == ["Enter the readings of at least one run."]


def test_an_impossible_reading_comes_back_with_the_form(client, firm):
    round_ = RoundFactory(surface=firm.surface)
    client.force_login(firm.technician)
    data = typed(TestMethod.FALLING_HEAD, run1_head_end="450")

    page = client.post(f"{reverse('qa:test-create', args=[round_.pk])}?method=falling_head", data)

    assert page.status_code == 200
    assert "The head must fall, but went from 400 to 450 mm" in page.content.decode()
    assert not round_.tests.exists()


def test_a_leak_is_a_departure_of_every_sealed_method(firm):
    assert [d.key for d in recorded(firm, TestMethod.FRAME, leak_seen="on").deviations] == ["leak"]


def test_the_database_refuses_a_rate_where_a_method_has_none(firm):
    test = recorded(firm, TestMethod.SPREADING_AREA)

    with pytest.raises(IntegrityError), transaction.atomic():
        InfiltrationTest.objects.filter(pk=test.pk).update(rate_mm_h=100.0)


def test_the_database_refuses_a_ring_test_without_its_readings(firm):
    test = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))

    with pytest.raises(IntegrityError), transaction.atomic():
        InfiltrationTest.objects.filter(pk=test.pk).update(test_mass=None)


def test_a_ring_test_without_its_mass_is_refused_in_words(firm):
    test = InfiltrationTest(
        round=RoundFactory(surface=firm.surface), spot="gate", elapsed_s=9, ring_diameter=300
    )

    with pytest.raises(ValidationError, match="Test mass is missing"):
        rounds.record_test(test=test, by=firm.technician)


def test_a_repeat_starts_with_what_the_first_left(client, firm):
    round_, location = RoundFactory(surface=firm.surface), LocationFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, location=location, test_mass=3.62, ring_position="corner of four")
    client.force_login(firm.technician)

    form = client.get(reverse("qa:test-create", args=[round_.pk]), {"location": location.pk}).context["form"]

    assert (form["rewetted"].value(), form["test_mass"].value()) == (False, 3.6)
    assert form["ring_position"].value() == "corner of four"


def test_a_repeat_at_a_spot_counts_as_the_mean_of_the_two(firm):
    round_, location = RoundFactory(surface=firm.surface), LocationFactory(surface=firm.surface)
    first = InfiltrationTestFactory(round=round_, location=location, elapsed_s=100.0)
    second = InfiltrationTest(
        round=round_, location=location, test_mass=3.6, ring_diameter=300.0, elapsed_s=120.0,
        rewetted=False, minutes_since_first=4.0,
    )  # fmt: skip

    rounds.record_test(test=second, by=firm.technician)

    assert second.sequence == 2
    assert second.deviations == ()
    (spot,) = round_result(round_, "si").methods[0].spots
    assert spot.rate.rate_mm_h == pytest.approx((first.rate_mm_h + second.rate_mm_h) / 2)


def test_a_test_of_today_knows_when_it_ended(client, firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=firm.site.today())
    client.force_login(firm.technician)
    url = reverse("qa:test-create", args=[round_.pk])

    client.post(url, RING | {"spot": "gate", "finished_at": "2026-11-25T10:15:30.500Z"})
    client.post(url, RING | {"spot": "door"})

    timed, untimed = round_.tests.all()
    assert timed.finished_at.isoformat() == "2026-11-25T10:15:30.500000+00:00"
    assert untimed.finished_at is not None


def test_the_ring_position_is_asked_only_where_there_are_joints(client, firm):
    client.force_login(firm.technician)
    asphalt = RoundFactory(surface=SurfaceFactory(site=firm.site, surface_type="porous_asphalt"))
    pavers = RoundFactory(surface=firm.surface)

    without = client.get(reverse("qa:test-create", args=[asphalt.pk])).context["form"]
    with_joints = client.get(reverse("qa:test-create", args=[pavers.pk])).context["form"]

    assert "ring_position" not in without.fields
    assert "ring_position" in with_joints.fields


def test_an_unknown_method_gives_the_ring_form(client, firm):
    client.force_login(firm.technician)

    page = client.get(
        reverse("qa:test-create", args=[RoundFactory(surface=firm.surface).pk]), {"method": "x"}
    )

    assert page.context["test"].method == TestMethod.RING


def test_spots_too_close_together_are_a_departure_of_the_round(firm):
    round_ = RoundFactory(surface=firm.surface)
    for x in (1.0, 1.5, 9.0):
        location = LocationFactory(surface=firm.surface, x_m=x, y_m=2.0)
        InfiltrationTestFactory(round=round_, location=location)

    assert [d.key for d in round_result(round_, "si").deviations] == ["spacing"]


def test_the_chosen_factor_decides_how_many_more_spots(client, firm):
    round_ = RoundFactory(surface=firm.surface)
    for time in (100.0, 150.0, 220.0):
        InfiltrationTestFactory(round=round_, elapsed_s=time)
    client.force_login(firm.viewer)

    more = {
        f: client.get(round_.get_absolute_url(), {"factor": f}).context["parts"][0].more
        for f in ("1.25", "1.5", "2", "nonsense")
    }

    assert more["1.25"] > more["1.5"] > more["2"]
    assert more["nonsense"] == more["1.5"]


def test_an_amended_round_shows_who_when_what_and_why(client, firm):
    round_ = RoundFactory(surface=firm.surface, hours_since_rain=48.0)
    client.force_login(firm.technician)
    data = {
        "tested_on": "2024-06-01",
        "purpose": "complaint",
        "hours_since_rain": "30",
        "reason": "Gauge read.",
    }

    client.post(reverse("qa:round-amend", args=[round_.pk]), data)

    page = client.get(round_.get_absolute_url())
    (amendment,) = page.context["amendments"]
    assert (amendment.by, amendment.reason) == (firm.technician, "Gauge read.")
    assert [(c.label, c.before, c.after) for c in amendment.changes] == [
        ("purpose", "Routine", "Complaint"),
        ("hours since the last rain", "48", "30"),
    ]
    assert "<del>48</del> <ins>30</ins>" in page.content.decode()


def test_a_test_set_aside_stays_readable_on_the_round(client, firm):
    round_ = RoundFactory(surface=firm.surface)
    test = InfiltrationTestFactory(round=round_, elapsed_s=151.5)
    rounds.void_test(test=test, by=firm.technician, reason="Ring moved.")
    client.force_login(firm.viewer)

    page = as_shown(client.get(round_.get_absolute_url()).content.decode())

    assert "Ring moved." in page
    assert "151.5" in page
    assert str(firm.technician) in page


def test_the_handover_names_the_method_and_marks_what_is_converted(firm):
    round_ = RoundFactory(surface=firm.surface, purpose="acceptance")
    recorded(firm, TestMethod.FALLING_HEAD, round_)
    recorded(firm, TestMethod.OUTFLOW_METER, round_)

    (part,) = acceptance_rounds(firm.surface, Audience.OWNER, {}).rounds

    falling, outflow = part.tests
    assert falling.spot == "gate, falling-head standpipe"
    assert "converted: a ring might have read" in falling.text.si
    assert "fall 1: head at the start 400 mm" in falling.read
    assert outflow.rate is None
    assert outflow.text.si == "0.1 1/s, not a rate"
    assert part.judgement == "cannot_tell"
