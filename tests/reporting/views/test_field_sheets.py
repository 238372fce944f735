"""The sheet for tests written by hand: what it says, for whom, and where its codes lead."""

import re

import pytest
from django.urls import reverse

from accounts.calc.audience import Audience
from qa.services import plans
from reporting.presentation import field_sheet as presentation
from reporting.selectors.field_sheets import field_sheet
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory
from tests.qa.views.test_plans import YARD
from tests.reporting.papers import facts_of, words_of


@pytest.fixture
def yard(firm):
    firm.site.access_note, firm.site.address = "Key at the gatehouse", "1 Mill Lane"
    firm.site.save()
    plans.save_plan(surface=firm.surface, plan=YARD, spots=(), keep_locations=True)
    LocationFactory(surface=firm.surface, label="A", x_m=12.0, y_m=12.5)
    return firm.surface


def sheet_of(client, user, route, pk):
    client.force_login(user)
    answer = client.get(reverse(route, args=[pk]))
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return answer.content


def test_it_has_a_block_for_each_spot_with_where_it_lies_and_room_for_the_readings(
    client, firm, yard, tmp_path
):
    said = words_of(sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk), tmp_path)

    for words in (
        "Field sheet, ring test",
        "Key at the gatehouse",
        "17.3 m from corner 4 and 17.3 m from corner 1",
        "Spot A (Interior)",
        "Another spot:",
        "Prewet time",
        "Elapsed time",
        "still ponded",
        "under 30 s the test takes 18 kg, else 3.6 kg",
    ):
        assert words in said, words


def test_in_us_units_it_is_a_letter_with_pounds_and_inches(client, firm, yard, tmp_path):
    firm.technician.units = "us"
    firm.technician.save()
    pdf = sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk)

    assert "the test takes 40 lb, else 8 lb" in words_of(pdf, tmp_path)
    assert facts_of(pdf, tmp_path)["Page size"].startswith("612 x 792 pts")


def test_it_is_tagged_and_titled(client, firm, yard, tmp_path):
    facts = facts_of(sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk), tmp_path)

    assert facts["Tagged"] == "yes"
    assert facts["Title"] == f"Field sheet of {yard.name}, {yard.site.name}"


def test_the_last_reading_of_a_spot_stands_beside_it(client, firm, yard, tmp_path):
    InfiltrationTestFactory(round=RoundFactory(surface=yard), location=yard.locations.get())
    (place,) = field_sheet(yard, None).spots

    said = words_of(sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk), tmp_path)

    assert place.last.si.endswith("mm/h")
    assert f"Last reading: {place.last.si}" in said


@pytest.fixture
def addresses(monkeypatch):
    """What the codes of a sheet hold."""
    held = []
    monkeypatch.setattr(
        presentation,
        "qr_svg",
        lambda address: held.append(address) or '<svg xmlns="http://www.w3.org/2000/svg"/>',
    )
    return held


def test_codes_of_a_round_open_the_form_of_each_spot(client, firm, yard, addresses):
    round_ = RoundFactory(surface=yard)

    sheet_of(client, firm.technician, "reporting:round-field-sheet", round_.pk)

    place, form = yard.locations.get(), reverse("qa:test-create", args=[round_.pk])
    assert {re.sub(r"^https?://[^/]+", "", address) for address in addresses} == {
        f"{form}?location={place.pk}",
        form,
    }
    client.get(f"{form}?location={place.pk}")


def test_without_a_round_every_code_opens_the_page_where_one_is_begun(client, firm, yard, addresses):
    sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk)

    assert {re.sub(r"^https?://[^/]+", "", address) for address in addresses} == {
        reverse("qa:round-create", args=[yard.pk])
    }


def test_a_surface_without_spots_or_plan_has_rows_for_those_chosen_on_site(client, firm, tmp_path):
    sheet = field_sheet(firm.surface, None)

    assert (sheet.spots, sheet.more_spots) == ((), 3)
    said = words_of(
        sheet_of(client, firm.technician, "reporting:surface-field-sheet", firm.surface.pk), tmp_path
    )
    assert said.count("Another spot:") == 3


@pytest.mark.parametrize(("area", "rows"), [(1000.0, 3), (9000.0, 10)])
def test_there_are_as_many_rows_as_the_area_asks_for(firm, area, rows):
    firm.surface.area_m2 = area

    assert field_sheet(firm.surface, None).more_spots == rows


def test_a_very_long_name_and_odd_letters_still_make_a_sheet(client, firm, yard):
    yard.name = "Hof " + "ü" * 116  # as long as a name may be
    yard.save()

    assert sheet_of(client, firm.technician, "reporting:surface-field-sheet", yard.pk).startswith(b"%PDF")


def test_how_to_get_in_is_on_no_paper_of_an_owner(client, firm, yard):
    client.force_login(firm.owner_person)

    assert client.get(reverse("reporting:surface-field-sheet", args=[yard.pk])).status_code == 403
    assert not Audience.OWNER.sees("access")


def test_the_form_of_a_test_says_where_the_spots_lie(client, firm, yard):
    client.force_login(firm.technician)
    round_ = RoundFactory(surface=yard)

    for query in ("", "?method=flooding"):
        page = client.get(reverse("qa:test-create", args=[round_.pk]) + query).content.decode()
        assert "Where the spot lies" in page
        assert "from corner 4" in page
