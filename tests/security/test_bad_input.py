"""Bad input, end to end: what was typed stays, the answer names the value and the way out, nothing is half saved."""

from datetime import timedelta
from html import unescape
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from core.calc.format import day
from maintenance.models import CleaningEvent, MethodTerms
from planning.models import Agreement, Visit
from qa.models import InfiltrationTest, Layer, Location, Site, Surface, TestRound
from tests.clock import TODAY
from tests.factories import (
    CrewFactory,
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    RoundFactory,
)
from tests.sending import as_shown as as_sent

pytestmark = pytest.mark.django_db
TOMORROW = (TODAY + timedelta(days=2)).isoformat()

SURFACE = {
    "name": "North yard",
    "surface_type": "picp",
    "area_m2": "500",
    "opened_on": "2022-05-01",
    "traffic": "1",
    "run_on_area_m2": "0",
    "agreed_limit_mm_h": "250",
    "agreed_source": "contract",
    "clogging_share": "1",
}
SITE = {"name": "School", "time_zone": "Europe/Berlin"}
ROUND = {"tested_on": "2024-06-01", "purpose": "routine"}
RING_TEST = {
    "spot": "by the gate",
    "unit_system": "si",
    "prewet_mass": "3.6",
    "prewet_time_s": "45",
    "start_delay_s": "60",
    "test_mass": "3.6",
    "ring_diameter": "300",
    "elapsed_s": "150",
    "ended": "drained",
    "rewetted": "on",
}
CLEANING = {"cleaned_on": "2024-06-01", "method": "vacuum", "share_of_area": "1", "wetness": "dry"}
AGREEMENT = {"tests_per_year": "1", "cleanings_per_year": "0", "notice_days": "60"}


@pytest.fixture
def forms_of(firm):
    """Where each form is sent, what a good one holds, and what it stores."""
    owner = {"owner": str(firm.owner.pk)}
    round_ = RoundFactory(surface=firm.surface)
    crew = CrewFactory(organisation=firm.organisation)
    site, surface = [firm.site.pk], [firm.surface.pk]
    visit = {"visit_on": TOMORROW, "crew": str(crew.pk)}
    return {
        "site": (reverse("qa:site-create"), SITE | owner, Site),
        "surface": (reverse("qa:surface-create", args=site), SURFACE, Surface),
        "round": (reverse("qa:round-create", args=surface), ROUND, TestRound),
        "test": (reverse("qa:test-create", args=[round_.pk]), RING_TEST, InfiltrationTest),
        "cleaning": (reverse("maintenance:cleaning-create", args=surface), CLEANING, CleaningEvent),
        "agreement": (reverse("planning:agreement-edit", args=site), AGREEMENT, Agreement),
        "visit": (reverse("planning:visit-create"), visit, Visit),
    }


NAMES = ["site", "surface", "round", "test", "cleaning", "agreement", "visit"]


def send(client, firm, place, changes):
    url, good, model = place
    client.force_login(firm.coordinator)
    before = model.objects.count()
    response = client.post(url, good | changes)
    return response, model.objects.count() - before


@pytest.mark.parametrize("name", NAMES)
def test_a_good_form_is_stored_once(client, firm, forms_of, name):
    """The control for everything below."""
    response, stored = send(client, firm, forms_of[name], {})

    assert (response.status_code, stored) == (302, 1), response.context and response.context["form"].errors


BAD = [
    ("surface", "area_m2", "-5", "-5 m² is too small"),
    ("surface", "area_m2", "0", "0 m² is too small"),
    ("surface", "area_m2", "5e9", "5000000000 m² is too large"),
    ("surface", "area_m2", "NaN", "Enter a number"),
    ("surface", "area_m2", "inf", "Enter a number"),
    ("surface", "area_m2", "1e999", "Enter a number"),
    ("surface", "area_m2", "five hundred", "Enter a number"),
    ("surface", "area_m2", "", "required"),
    ("surface", "opened_on", "2024-02-30", "Enter a valid date"),
    ("surface", "opened_on", "9999-12-31", f"{day('9999-12-31')} is too far away"),
    ("surface", "opened_on", "0001-01-01", f"{day('0001-01-01')} is too far away"),
    ("surface", "removed_on", "2021-01-01", "cannot be removed before it was opened"),
    ("surface", "removed_on", TOMORROW, "still to come"),
    ("surface", "name", "x" * 5000, "at most 120 characters (it has 5000)"),
    ("surface", "name", "a\x00b", "Null characters"),
    ("surface", "surface_type", "lawn", "lawn is not one of the available choices"),
    ("surface", "traffic", "99", "99 is not one of the available choices"),
    ("surface", "agreed_limit_mm_h", "-1", "-1 mm/h is too small"),
    ("surface", "run_on_area_m2", "-1", "-1 m² is too small"),
    ("surface", "joint_width_mm", "0", "0 mm is too small"),
    ("site", "latitude_deg", "48.1", "both latitude and longitude"),
    ("site", "longitude_deg", "11.5", "both latitude and longitude"),
    ("site", "latitude_deg", "91", "too large. Give 90"),
    ("site", "time_zone", "Middle/Earth", "'Middle/Earth' is not a known time zone"),
    ("site", "time_zone", "../../etc/passwd", "is not a known time zone"),
    ("site", "frost_months", ["13"], "13 is not one of the available choices"),
    ("site", "frost_months", ["x"], "x is not one of the available choices"),
    ("site", "owner", "not-an-id", "not a valid UUID"),
    ("site", "name", "   ", "required"),
    ("round", "tested_on", TOMORROW, f"{day(TOMORROW)} is in the future at the site"),
    ("round", "tested_on", "2019-01-01", f"{day('2019-01-01')} is more than a month before"),
    ("round", "tested_on", "01.06.2024x", "Enter a valid date"),
    ("round", "hours_since_rain", "-1", "too small. Give 0 or more."),
    ("round", "air_temperature_c", "99", "99 °C is too large"),
    ("round", "purpose", "fun", "fun is not one of the available choices"),
    ("test", "elapsed_s", "0", "Elapsed time"),
    ("test", "elapsed_s", "-150", "-150"),
    ("test", "test_mass", "-3.6", "-3.6"),
    ("test", "ring_diameter", "12", "looks like 12 in"),
    ("test", "spot", "", "Say where"),
    ("test", "location", "00000000-0000-4000-8000-000000000000", "not one of the available choices"),
    ("test", "unit_system", "imperial", "imperial is not one of the available choices"),
    ("cleaning", "share_of_area", "1.5", "too large. Give 1"),
    ("cleaning", "share_of_area", "0", "too small. Give 0.01 or more."),
    ("cleaning", "cost", "-1", "too small. Give 0 or more."),
    ("cleaning", "cost", "NaN", "Enter a number"),
    ("cleaning", "cost", "1e30", "no more than"),
    ("cleaning", "method", "leaf_burning", "leaf_burning is not one of the available choices"),
    ("cleaning", "cleaned_on", TOMORROW, f"{day(TOMORROW)} is in the future"),
    ("cleaning", "cleaned_on", "2001-01-01", f"{day('2001-01-01')} is before the surface opened"),
    ("cleaning", "material_in_kg", "-2", "-2 kg is too small"),
    ("agreement", "tests_per_year", "-1", "too small. Give 0 or more."),
    ("agreement", "tests_per_year", "1e9", "too large. Give 52 or less."),
    ("agreement", "report_months", ["0"], "0 is not one of the available choices"),
    ("visit", "visit_on", "2020-01-01", f"{day('2020-01-01')} is in the past"),
    ("visit", "crew", "00000000-0000-4000-8000-000000000000", "not one of the available choices"),
]


@pytest.mark.parametrize(("name", "field", "typed", "said"), BAD, ids=lambda value: str(value)[:30])
def test_bad_input_is_answered_in_words_and_stores_nothing(client, firm, forms_of, name, field, typed, said):
    response, stored = send(client, firm, forms_of[name], {field: typed})

    body = unescape(response.content.decode())
    assert (response.status_code, stored) == (200, 0)
    assert said in body
    assert 'role="alert"' in body


KEEPS = [
    ("surface", {"area_m2": "-5", "run_on_from": "the bus stop", "note": "Ask Olga."}),
    ("site", {"latitude_deg": "48.1", "access_note": "Ring twice."}),
    ("round", {"tested_on": TOMORROW, "hours_since_rain": "36.5", "note": "Drizzle."}),
    ("test", {"elapsed_s": "0", "prewet_time_s": "41.5", "note": "Wind."}),
    ("cleaning", {"share_of_area": "7", "material_in": "2-5 mm basalt", "note": "Slow."}),
]


@pytest.mark.parametrize(("name", "typed"), KEEPS, ids=lambda value: str(value)[:20])
def test_a_refused_form_keeps_what_was_typed(client, firm, forms_of, name, typed):
    response, _ = send(client, firm, forms_of[name], typed)

    body = unescape(response.content.decode())
    assert [text for text in typed.values() if text not in body] == []


def test_a_refused_form_in_us_units_keeps_what_was_typed_and_its_unit(client, firm, forms_of):
    firm.coordinator.units = "us"
    firm.coordinator.save()

    response, stored = send(client, firm, forms_of["surface"], {"area_m2": "0.5"})

    body = response.content.decode()
    assert stored == 0
    assert "0.5 ft² is too small. Give 1.076 ft² or more." in body
    assert 'name="area_m2" value="0.5"' in body


def test_a_very_long_note_is_kept_whole(client, firm, forms_of):
    note = "Rain. " * 20_000

    response, stored = send(client, firm, forms_of["round"], {"note": note})

    assert (response.status_code, stored) == (302, 1)
    assert TestRound.objects.latest("created_at").note == note.strip()


def test_a_request_that_is_far_too_large_is_refused(client, firm, forms_of):
    response, stored = send(client, firm, forms_of["round"], {"note": "x" * 3_000_000})

    assert (response.status_code, stored) == (400, 0)


def test_an_owner_of_another_firm_cannot_be_smuggled_in(client, firm, forms_of):
    stranger = OwnerFactory()

    response, stored = send(client, firm, forms_of["site"], {"owner": str(stranger.pk)})

    assert (response.status_code, stored) == (200, 0)


def rows(prefix, forms, initial=0):
    data = {f"{prefix}-TOTAL_FORMS": len(forms), f"{prefix}-INITIAL_FORMS": initial}
    for number, form in enumerate(forms):
        data |= {f"{prefix}-{number}-{name}": value for name, value in form.items()}
    return data


def test_two_locations_of_one_label_are_refused_in_words(client, firm):
    client.force_login(firm.coordinator)
    url = reverse("qa:location-edit", args=[firm.surface.pk])
    data = rows("locations", [{"label": "A", "zone": "edge"}, {"label": "A", "zone": "low"}])

    response = client.post(url, data)

    assert response.status_code == 200
    assert "duplicate" in response.content.decode()
    assert not Location.objects.exists()


def test_the_label_of_a_retired_location_is_refused_in_words(client, firm):
    LocationFactory(surface=firm.surface, label="A", retired=True)
    client.force_login(firm.coordinator)

    response = client.post(
        reverse("qa:location-edit", args=[firm.surface.pk]),
        rows("locations", [{"label": "A", "zone": "edge"}]),
    )

    assert response.status_code == 200
    assert "already has a location of that label" in response.content.decode()


def layer(kind, **values):
    return {"kind": kind, "thickness_mm": "100", "material": "stone"} | values


@pytest.mark.parametrize(
    ("layers", "said"),
    [
        ([layer("subgrade", thickness_mm=""), layer("base")], "subgrade must be the last layer"),
        ([layer("base", thickness_mm="")], "needs a thickness"),
        ([layer("base", thickness_mm="-3")], "-3 mm is too small"),
        ([layer("base", porosity="1.4")], "too large. Give 0.95 or less."),
        ([layer("base", stone_min_mm="20", stone_max_mm="5")], "cannot be smaller than the smallest"),
        ([layer("geotextile", thickness_mm="", porosity="0.4")], "stores no water"),
        ([layer("lawn")], "lawn is not one of the available choices"),
    ],
)
def test_a_build_up_that_cannot_be_is_refused_in_words_and_none_of_it_stored(client, firm, layers, said):
    client.force_login(firm.coordinator)
    good = layer("surface_course")

    response = client.post(reverse("qa:layer-edit", args=[firm.surface.pk]), rows("layers", [good, *layers]))

    assert response.status_code == 200
    assert said in unescape(response.content.decode())
    assert not Layer.objects.exists()


def test_a_layer_of_another_surface_cannot_be_taken_over(client, firm):
    theirs = LayerFactory()
    client.force_login(firm.coordinator)
    data = rows("layers", [layer("base", id=str(theirs.pk), thickness_mm="1")], initial=1)

    client.post(reverse("qa:layer-edit", args=[firm.surface.pk]), data)

    theirs.refresh_from_db()
    assert theirs.thickness_mm == 100.0


@pytest.mark.parametrize("route", ["qa:layer-edit", "qa:location-edit"])
@pytest.mark.parametrize(
    "broken", [{}, {"x": "y"}, {"layers-TOTAL_FORMS": "x"}, {"locations-TOTAL_FORMS": "100000"}], ids=str
)
def test_rows_whose_count_is_missing_or_absurd_are_no_server_error(client, firm, route, broken):
    client.force_login(firm.coordinator)

    assert client.post(reverse(route, args=[firm.surface.pk]), broken).status_code == 200


@pytest.mark.parametrize(
    "query",
    [
        {"location": "not-an-id"},
        {"unit_system": "imperial"},
        {"test_mass": "x"},
        {"minutes_since_first": "\x00"},
        {"spot": "x" * 9000},
    ],
    ids=lambda query: next(iter(query)),
)
def test_a_form_opened_with_a_nonsense_address_still_opens(client, firm, query):
    client.force_login(firm.technician)
    url = reverse("qa:test-create", args=[RoundFactory(surface=firm.surface).pk])

    assert client.get(url, query).status_code == 200


def test_a_test_at_a_retired_location_can_be_corrected_where_it_was(client, firm):
    location = LocationFactory(surface=firm.surface, retired=True)
    old = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), location=location, spot="")
    client.force_login(firm.technician)
    url = reverse("qa:test-correct", args=[old.pk])
    data = RING_TEST | {"spot": "", "location": str(location.pk), "elapsed_s": "300", "reason": "Misread."}

    offered = client.get(url).content.decode()
    response = client.post(url, data)

    assert f'value="{location.pk}" selected' in offered
    assert response.status_code == 302
    assert old.replaced_by.location == location


@pytest.mark.parametrize("wrong", ["", "nonsense", "00000000-0000-4000-8000-000000000000"])
def test_a_row_of_prices_that_is_not_there_is_left_out(client, firm, wrong):
    client.force_login(firm.admin)
    url = reverse("maintenance:method-terms")
    page = as_sent(client.get(url).content.decode())

    answer = client.post(url, page | {"terms-0-id": wrong, "terms-1-output_m2_h": "77"})

    assert answer.status_code == 302
    assert MethodTerms.objects.filter(organisation=firm.organisation, output_m2_h=77).count() == 1


@pytest.mark.parametrize(
    "place", ["foo", "accounts:firm", "https://evil.example/", "//evil.example", "\\evil"]
)
def test_a_place_to_come_back_to_that_is_no_path_of_ours_is_left_aside(client, firm, place):
    client.force_login(firm.admin)
    url = reverse("planning:crew-create")

    answer = client.post(f"{url}?{urlencode({'next': place})}", {"name": "Crew B", "hours_a_day": "8"})

    assert answer.status_code == 302
    assert "evil" not in answer.url
