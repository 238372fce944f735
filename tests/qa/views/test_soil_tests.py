"""Soil tests: recorded on their form, read on the page of the water, and what the design rate may be."""

import re
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from core.calc.format import day
from qa.models import ConstructionRecord, SoilTest
from qa.services import assembly
from qa.services.register import save_surface
from qa.services.soil_tests import void_soil_test
from tests.factories import SoilTestFactory
from tests.pages import as_shown

RUN = {"start_1": "200", "end_1": "180", "minutes_1": "60"}


def sheet(surface, **fields):
    day = (surface.site.today() - timedelta(days=3)).isoformat()
    return {"tested_on": day, "method": "double_ring", "place": "North corner", **RUN, **fields}


def send(client, person, surface, **fields):
    client.force_login(person)
    return client.post(reverse("qa:soil-test-create", args=[surface.pk]), sheet(surface, **fields))


def water_page(client, person, surface):
    client.force_login(person)
    page = client.get(reverse("qa:water-detail", args=[surface.pk])).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page))


def test_a_double_ring_test_is_recorded_and_read_beside_the_design_rate_it_carries(client, firm):
    firm.surface.soil_rate_mm_h = 12.0
    firm.surface.save()

    answer = send(client, firm.technician, firm.surface)

    assert answer.status_code == 302
    page = water_page(client, firm.viewer, firm.surface)
    assert "The slowest of 1 place shows 20 mm/h" in page
    assert (
        "Over a safety factor of 2.5 (the usual 2 to 3; none is recorded) it carries a design rate of 8 mm/h"
        in page
    )
    assert "Ask the designer, or correct the record." in page


def test_a_us_person_types_inches(client, firm):
    firm.technician.units = "us"
    firm.technician.save()

    send(client, firm.technician, firm.surface, start_1="8", end_1="7", minutes_1="60")

    assert SoilTest.objects.get().result.rate_mm_h == pytest.approx(25.4)


def test_sent_twice_it_is_stored_once(client, firm):
    client.force_login(firm.technician)
    url = reverse("qa:soil-test-create", args=[firm.surface.pk])
    device_id = client.get(url).context["form"]["device_id"].value()

    for _ in range(2):
        send(client, firm.technician, firm.surface, device_id=str(device_id))

    assert SoilTest.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"end_1": "210"}, "The water rose from 200 to 210 mm"),
        ({"minutes_1": ""}, "Enter both levels and the minutes of this run"),
        ({"start_1": "", "end_1": "", "minutes_1": ""}, "needs at least 1 run, got 0"),
        ({"method": "pit"}, "Enter the floor of the pit"),
        ({"tested_on": "2999-01-01"}, f"{day('2999-01-01')} is in the future"),
        ({"place": ""}, "This field is required"),
    ],
)
def test_what_cannot_be_is_said_beside_the_entry_and_nothing_is_lost(client, firm, fields, said):
    answer = send(client, firm.technician, firm.surface, note="clay seam", **fields)

    assert said in as_shown(answer.content.decode())
    assert "clay seam" in answer.content.decode()
    assert not SoilTest.objects.exists()


def test_a_test_set_aside_counts_no_more(client, firm):
    slow = SoilTestFactory(surface=firm.surface, place="Old pond")
    SoilTestFactory(surface=firm.surface, tested_on=firm.surface.opened_on)
    void_soil_test(test=slow, by=firm.technician, reason="wrong site")

    assert "The slowest of 1 place" in water_page(client, firm.viewer, firm.surface)


def test_the_design_rate_is_worked_out_and_one_that_the_test_does_not_carry_is_refused(firm):
    surface = firm.surface
    surface.soil_measured_mm_h, surface.soil_safety_factor, surface.soil_rate_mm_h = 24.0, 3.0, None
    assert save_surface(surface=surface).soil_rate_mm_h == 8.0

    surface.soil_rate_mm_h = 9.0
    with pytest.raises(
        ValidationError, match="more than the measured rate over the safety factor of 3 gives, 8 mm/h"
    ):
        save_surface(surface=surface)

    surface.soil_safety_factor, surface.soil_rate_mm_h = None, None
    with pytest.raises(ValidationError, match="Enter the safety factor"):
        save_surface(surface=surface)


def test_the_opened_subgrade_must_show_the_design_rate_times_the_factor(firm):
    firm.surface.soil_rate_mm_h, firm.surface.soil_safety_factor = 8.0, 3.0
    firm.surface.save()
    record = assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician
    )

    assert record.checks.get(key="subgrade_soil_rate").design == 24.0
