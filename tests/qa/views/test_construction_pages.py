from datetime import date

import pytest
from django.urls import reverse

from qa.calc.check_model import Criterion
from qa.models import CheckEntry, ConstructionCheck, ConstructionRecord
from qa.services import assembly
from tests.factories import CheckEntryFactory, ConstructionCheckFactory, CorrectiveWorkFactory, LayerFactory
from tests.pages import as_shown


@pytest.fixture
def record(firm):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=100.0)
    return assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.technician
    )


def check_of(record, key):
    return ConstructionCheck.objects.get(record=record, key=key)


def page(client, route, row):
    return as_shown(client.get(reverse(route, args=[row.pk])).content.decode())


def test_a_surface_without_a_record_says_what_to_do_first(client, firm):
    client.force_login(firm.technician)

    shown = page(client, "qa:construction-detail", firm.surface)

    assert "No construction record yet" in shown
    assert reverse("qa:construction-open", args=[firm.surface.pk]) in shown


def test_opening_a_record_lays_out_the_checks_of_the_parts_ticked(client, firm):
    client.force_login(firm.technician)
    url = reverse("qa:construction-open", args=[firm.surface.pk])

    response = client.post(url, {"heaviest_use": "vehicle", "subgrade_cbr": "2", "parts": ["geotextile"]})

    record = ConstructionRecord.objects.get(surface=firm.surface)
    assert response.url == record.get_absolute_url()
    assert check_of(record, "geotextile_overlap").least == 600.0
    assert not record.checks.filter(stage="base").exists()


def test_a_passed_check_offers_the_next_one(client, firm, record):
    client.force_login(firm.technician)
    url = reverse("qa:check-record", args=[check_of(record, "utilities_located").pk])

    response = client.post(url, {"reading": "yes", "done_on": "2024-03-01"})

    assert response.url == reverse("qa:check-record", args=[check_of(record, "runoff_kept_out").pk])


def test_a_failed_check_leads_to_putting_it_right(client, firm, record):
    client.force_login(firm.technician)
    check = check_of(record, "utilities_located")

    response = client.post(
        reverse("qa:check-record", args=[check.pk]), {"reading": "no", "done_on": "2024-03-01"}, follow=True
    )

    entry = CheckEntry.objects.get()
    assert response.redirect_chain[-1][0] == check.get_absolute_url()
    assert reverse("qa:work-create", args=[entry.pk]) in response.content.decode()
    assert "do not dig" in response.content.decode()


def test_a_check_behind_a_hold_point_says_what_it_waits_for(client, firm, record):
    client.force_login(firm.technician)
    url = reverse("qa:check-record", args=[check_of(record, "base_lift").pk])

    response = client.post(url, {"reading": "100", "where": "1", "done_on": "2024-03-01"})

    assert response.status_code == 409
    assert "A hold point stops this stage" in response.content.decode()
    assert not CheckEntry.objects.exists()


def test_readings_in_inches_are_kept_in_millimetres(client, firm, record):
    firm.technician.units = "us"
    firm.technician.save()
    client.force_login(firm.technician)
    check = ConstructionCheckFactory(record=record, stage="before_digging", unit="mm", least=76.2, most=101.6)

    asked = page(client, "qa:check-record", check)
    client.post(reverse("qa:check-record", args=[check.pk]), {"reading": "3.5", "done_on": "2024-03-01"})

    assert "3 to 4 in" in asked
    assert CheckEntry.objects.get().reading == pytest.approx(88.9)


def test_an_answer_that_is_missing_is_asked_for_and_nothing_is_stored(client, firm, record):
    client.force_login(firm.technician)
    url = reverse("qa:check-record", args=[check_of(record, "utilities_located").pk])

    response = client.post(url, {"done_on": "2024-03-01"})

    assert response.context["form"].errors["reading"] == ["This field is required."]
    assert not CheckEntry.objects.exists()


def test_tapping_save_twice_stores_one_finding(client, firm, record):
    client.force_login(firm.technician)
    url = reverse("qa:check-record", args=[check_of(record, "utilities_located").pk])
    device_id = client.get(url).context["form"]["device_id"].value()
    sent = {"reading": "yes", "done_on": "2024-03-01", "device_id": str(device_id)}

    client.post(url, sent)
    client.post(url, sent)

    assert CheckEntry.objects.count() == 1


def test_a_waiver_is_shown_on_the_record_and_on_the_check(client, firm, record):
    client.force_login(firm.coordinator)
    check = check_of(record, "utilities_located")

    client.post(
        reverse("qa:check-waive", args=[check.pk]), {"done_on": "2024-03-01", "reason": "No digging here."}
    )

    for shown in (
        page(client, "qa:construction-detail", firm.surface),
        page(client, "qa:check-detail", check),
    ):
        assert "Waived" in shown
        assert "No digging here." in shown


def test_a_technician_may_not_leave_out_a_hold_point(client, firm, record):
    client.force_login(firm.technician)

    hold = client.get(reverse("qa:check-not-needed", args=[check_of(record, "utilities_located").pk]))
    plain = client.get(reverse("qa:check-not-needed", args=[check_of(record, "runoff_kept_out").pk]))

    assert (hold.status_code, plain.status_code) == (403, 200)


def test_a_corrected_finding_and_its_original_are_both_readable(client, firm, record):
    client.force_login(firm.technician)
    check = ConstructionCheckFactory(record=record, stage="before_digging", unit="mm", most=50.0)
    old = CheckEntryFactory(
        construction_check=check,
        outcome="failed",
        reading=61.0,
        criterion=Criterion("The depth is right.", unit="mm"),
    )

    client.post(
        reverse("qa:entry-correct", args=[old.pk]),
        {"reading": "41", "done_on": "2024-03-01", "reason": "Digits swapped."},
    )

    shown = page(client, "qa:check-detail", check)
    assert "<del>61 mm</del>" in shown
    assert "41 mm" in shown
    assert "Digits swapped." in shown


def test_what_was_done_about_a_failure_is_shown_with_the_recheck(client, firm, record):
    client.force_login(firm.technician)
    entry = CheckEntryFactory(construction_check=check_of(record, "utilities_located"), outcome="failed")
    CorrectiveWorkFactory(entry=entry, what="Marked by the service.")

    client.post(reverse("qa:entry-recheck", args=[entry.pk]), {"reading": "yes", "done_on": "2024-03-03"})

    shown = page(client, "qa:check-detail", check_of(record, "utilities_located"))
    assert "Marked by the service." in shown
    assert CheckEntry.objects.get(rechecks=entry).done_on == date(2024, 3, 3)


def test_an_own_check_is_added_through_the_form(client, firm, record):
    client.force_login(firm.technician)

    client.post(
        reverse("qa:check-create", args=[firm.surface.pk]),
        {
            "stage": "edge",
            "asked": "The kerb stands above.",
            "unit": "mm",
            "least": "20",
            "readings_asked": "2",
        },
    )

    own = record.checks.get(asked="The kerb stands above.")
    assert (own.source_status, own.added_by, own.readings_asked) == ("entered", firm.technician, 2)


def test_changing_what_is_asked_needs_what_it_rests_on(client, firm, record):
    client.force_login(firm.coordinator)
    check = check_of(record, "base_thickness")
    url = reverse("qa:check-edit", args=[check.pk])
    sent = {"least": "-5", "most": "5", "design": "120", "readings_asked": "3"}

    refused = client.post(url, sent)
    client.post(url, sent | {"reason": "Drawing 12"})

    check.refresh_from_db()
    assert "reason" in refused.context["form"].errors
    assert (check.design, check.source) == (120.0, "Drawing 12")


def test_an_owner_reads_the_record_and_is_offered_nothing_to_change(client, firm, record):
    client.force_login(firm.owner_person)

    shown = page(client, "qa:construction-detail", firm.surface) + page(
        client, "qa:check-detail", check_of(record, "utilities_located")
    )

    assert "Utilities are located" in shown
    assert "Check it now" not in shown
    assert "Waive it" not in shown


def test_a_reading_is_taken_before_the_design_is_known_and_the_technician_goes_on(client, firm, record):
    """The page that enters the design is the coordinator's; nobody has to stand and wait for it."""
    check = check_of(record, "subgrade_soil_rate")
    for hold in record.checks.filter(hold_point=True, position__lt=check.position):
        CheckEntryFactory(construction_check=hold, outcome="passed")
    client.force_login(firm.technician)
    url = reverse("qa:check-record", args=[check.pk])

    before = client.get(url).content.decode()
    answer = client.post(url, {"reading": "12", "done_on": "2024-03-01"}, follow=True)

    assert "The designed value is not entered yet." in before
    said = answer.content.decode()
    assert "Kept, and judged once the designed value is entered" in said
    assert answer.redirect_chain[-1][0] != url
    assert "not judged yet" in client.get(record.get_absolute_url()).content.decode()
    assert "not judged yet" in client.get(reverse("qa:check-detail", args=[check.pk])).content.decode()
