"""A firm's own file of drives: stored whole or not at all, used by plans, and kept to the firm."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from planning.models import DriveTable
from planning.selectors.drives import GUESSED_KM, drives_between, named_places
from planning.services import drives
from tests.clock import TODAY
from tests.factories import CrewFactory, DriveTableFactory, SiteFactory, SurfaceFactory
from tests.planning.services.test_work_plans import advise, place, planned
from tests.refusals import refused

HEAD = "from,to,minutes,km\n"


@pytest.fixture
def crew(firm):
    return CrewFactory(
        organisation=firm.organisation, name="One", depot="Main yard", latitude_deg=0.4, longitude_deg=0.2
    )


def store(firm, lines):
    return drives.store_drives(
        organisation=firm.organisation,
        by=firm.admin,
        file_name="drives.csv",
        content=(HEAD + lines).encode(),
    )


def test_a_measured_drive_takes_the_place_of_the_great_circle_and_the_others_stay(firm, crew):
    place(firm.site, 0.41, 0.21)
    other = SiteFactory(owner=firm.owner)
    place(other, 0.5, 0.3)
    before = drives_between(firm.organisation, [crew], [firm.site, other])

    store(firm, f"Main yard,{firm.site.name},77,55.5\n")

    found = drives_between(firm.organisation, [crew], [firm.site, other])
    assert (found.minutes[0, 1], found.km[0, 1], found.minutes[1, 0]) == (77, 55.5, 77)
    assert found.minutes[0, 2] == before.minutes[0, 2]
    assert found.measured.sum() == 2
    assert before.measured.sum() == 0


def test_a_site_without_coordinates_counts_as_known_where_the_file_names_it(firm, crew):
    assert drives_between(firm.organisation, [crew], [firm.site]).without_place == (str(firm.site),)

    store(firm, f"One,{firm.site.name},30,21\n")

    found = drives_between(firm.organisation, [crew], [firm.site])
    assert found.without_place == ()
    assert found.km[0, 1] == 21 != GUESSED_KM


def test_a_plan_drives_by_the_file_and_says_how_many_drives_are_from_it(firm, crew, client):
    place(firm.site)
    advise(firm.surface)
    store(firm, f"Main yard,{firm.site.name},44,31\n")

    plan = planned(firm)

    (day,) = plan.result.days
    assert (day.travel_min, day.travel_km) == (88, 62.0)
    assert plan.result.drives == (2, 2)
    client.force_login(firm.coordinator)
    assert (
        "2 of 2 drives are from the firm&#x27;s own file"
        in client.get(plan.get_absolute_url()).content.decode()
    )


def test_a_new_file_takes_the_place_of_the_old_one(firm, crew):
    store(firm, f"Main yard,{firm.site.name},44,31\n")
    store(firm, f"One,{firm.site.name},10,7\n")

    table = DriveTable.objects.get()
    assert [drive[2:] for drive in table.drives.drives] == [(10, 7.0), (10, 7.0)]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (HEAD.encode() + b"Nowhere,Main yard,1,1\n", "Line 2: no site and no depot is called Nowhere."),
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b"a,b\n", "Line 1 names no column from"),
    ],
)
def test_a_file_that_is_wrong_is_refused_and_the_old_one_stays(firm, crew, content, said):
    kept = store(firm, f"Main yard,{firm.site.name},44,31\n")

    with refused(ValidationError, said, beside="file"):
        drives.store_drives(organisation=firm.organisation, by=firm.admin, file_name="x.csv", content=content)

    assert DriveTable.objects.get().drives_json == kept.drives_json


def test_places_of_other_firms_and_inactive_crews_are_not_known(firm, crew):
    stranger = SurfaceFactory().site
    gone = CrewFactory(organisation=firm.organisation, name="Gone", retired=True)

    names, doubled = named_places(firm.organisation)

    assert stranger.name.casefold() not in names
    assert gone.name.casefold() not in names
    assert names["main yard"] == names["one"] == [crew.pk]
    assert doubled == frozenset()


def test_two_sites_whose_names_differ_in_case_alone_are_told_apart_by_nobody(firm, crew):
    for name in ("Mill Street", "MILL  street"):
        SiteFactory(owner=firm.owner, name=name)

    with refused(ValidationError, "Line 2: more than one place is called mill street", beside="file"):
        store(firm, "mill street,Main yard,1,1\n")


def test_crews_with_one_depot_get_its_drives_however_each_writes_it(firm, crew):
    other = CrewFactory(
        organisation=firm.organisation, name="Two", depot=" main  YARD", latitude_deg=0.4, longitude_deg=0.2
    )

    store(firm, f"Main yard,{firm.site.name},44,31\n")

    found = drives_between(firm.organisation, [crew, other], [firm.site])
    assert found.minutes[:2, 2].tolist() == [44, 44]


def test_a_depot_called_like_a_site_is_told_apart_by_nobody(firm, crew):
    SiteFactory(owner=firm.owner, name="MAIN yard")

    with refused(ValidationError, "Line 2: more than one place is called Main yard", beside="file"):
        store(firm, f"Main yard,{firm.site.name},1,1\n")

    assert named_places(firm.organisation)[1] == {"main yard"}


def test_a_site_without_coordinates_is_guessed_while_one_of_its_drives_is(firm, crew):
    other = SiteFactory(owner=firm.owner)
    place(other)
    store(firm, f"One,{firm.site.name},30,21\n")
    half = drives_between(firm.organisation, [crew], [firm.site, other])
    store(firm, f"One,{firm.site.name},30,21\n{firm.site.name},{other.name},5,3\n")
    whole = drives_between(firm.organisation, [crew], [firm.site, other])

    assert half.without_place == (str(firm.site),)
    assert whole.without_place == ()


def test_the_page_takes_a_file_says_what_is_wrong_with_another_and_lets_it_be_removed(firm, crew, client):
    client.force_login(firm.admin)
    url = reverse("planning:drive-table")

    def send(text):
        sent = SimpleUploadedFile("drives.csv", text.encode(), content_type="text/csv")
        return client.post(url, {"file": sent}, follow=True)

    stored = send(HEAD + f"Main yard,{firm.site.name},44,31\n").content.decode()
    wrong = send(HEAD + f"Main yard,{firm.site.name},soon,31\n").content.decode()
    table = DriveTable.objects.get()
    gone = client.post(reverse("planning:drive-table-remove", args=[table.pk]), follow=True).content.decode()

    assert "2 drives stored" in stored
    assert "drives.csv" in stored
    assert "Line 2: minutes is soon" in wrong
    assert "New plans tell drives by great circles." in gone
    assert not DriveTable.objects.exists()


def test_a_file_that_is_too_large_is_refused_before_it_is_read(firm, client, monkeypatch):
    monkeypatch.setattr("planning.forms.drives.MOST_BYTES", 10)
    client.force_login(firm.admin)
    sent = SimpleUploadedFile("drives.csv", b"x" * 11, content_type="text/csv")

    page = client.post(reverse("planning:drive-table"), {"file": sent}).content.decode()

    assert "at most 10 MB are read" in page
    assert not DriveTable.objects.exists()


def test_the_file_of_another_firm_is_not_used(firm, crew):
    DriveTableFactory()
    place(firm.site)
    advise(firm.surface)

    assert planned(firm).result.drives[1] == 0
    assert planned(firm).first_on == TODAY
