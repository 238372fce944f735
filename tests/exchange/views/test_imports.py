"""Sheets sent, matched, looked through and taken in, by their pages."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import load_workbook

from accounts.models import Owner
from core.services import jobs
from core.tasks import deliver
from exchange.calc.steps import ImportStep
from exchange.models import ColumnTemplate, DataImport
from qa.models import InfiltrationTest, Site, Surface, TestRound
from tests.sending import as_shown

FLAT = (
    "Client,Site,Surface,Area (sq ft),Paving,Installed,Limit [in/h],Colour\n"
    "Harbour Homes,Mill Street,Car park,9000,PICP,12/05/2021,10,red\n"
    "Harbour Homes,Mill Street,Drive,800,PICP,{day},10,grey\n"
)
SENT = {"units": "si", "days": "dmy", "decimals": "point"}


@pytest.fixture(autouse=True)
def _worked_on_at_once(monkeypatch):
    """However busy the machine is, what was asked for is done when the answer comes."""
    monkeypatch.setattr(jobs, "_deliver_beside", [deliver])


def send(client, *files):
    url = reverse("exchange:import-list")
    once = {"device_id": str(client.get(url).context["form"]["device_id"].value())}
    return client.post(url, {**SENT, **once, "sheets": list(files)})


def text_file(text, name="surfaces.csv"):
    return SimpleUploadedFile(name, text.encode())


def look_through(client, row, **changes):
    url = reverse("exchange:import-match", args=[row.pk])
    page = client.get(url)
    return client.post(url, {**as_shown(page.content.decode()), **changes})


@pytest.mark.django_db(transaction=True)
def test_one_list_of_surfaces_becomes_owners_sites_and_surfaces(client, firm):
    client.force_login(firm.coordinator)
    assert send(client, text_file(FLAT.format(day="03/06/2022"))).status_code == 302
    row = DataImport.objects.get()

    look_through(client, row)
    row.refresh_from_db()
    assert (row.report.problem_count, row.report.new, row.is_ready) == (0, 4, True)
    assert not Surface.objects.filter(name="Car park").exists()
    client.post(reverse("exchange:import-store", args=[row.pk]))

    row.refresh_from_db()
    surface = Surface.objects.get(name="Car park")
    assert row.step == ImportStep.STORED
    assert not row.content
    assert (surface.site.name, surface.site.owner.name) == ("Mill Street", "Harbour Homes")
    assert surface.area_m2 == pytest.approx(836.127, rel=1e-5)
    assert surface.limit_mm_h == pytest.approx(254.0)
    assert surface.history.get().history_user == firm.coordinator
    page = client.get(row.get_absolute_url()).content.decode()
    assert "1 owner, 1 site and 2 surfaces taken in" in page
    assert surface.get_absolute_url() in page


@pytest.mark.django_db(transaction=True)
def test_a_problem_is_told_by_row_column_value_and_remedy_and_nothing_is_stored(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file(FLAT.format(day="31/02/2022")))
    row = DataImport.objects.get()

    look_through(client, row)

    row.refresh_from_db()
    (problem,) = row.report.problems
    assert (problem.row, problem.column, problem.value) == (3, "Installed", "31/02/2022")
    assert (problem.what, problem.remedy[:4]) == ("there is no such day", "Look")
    assert not row.is_ready
    answer = client.post(reverse("exchange:import-store", args=[row.pk]), follow=True)
    assert "cannot be stored as it stands" in answer.content.decode()
    assert not Site.objects.filter(name="Mill Street").exists()
    lines = b"".join(client.get(reverse("exchange:import-remarks", args=[row.pk])).streaming_content).decode()
    assert "surfaces,3,Installed,31/02/2022,There is no such day." in lines


def test_what_a_person_matches_is_kept_for_the_firm(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file("Who,Tel\nHarbour Homes,123\n", "owners.csv"))
    row = DataImport.objects.get()

    look_through(client, row, sheet0_0="name")
    send(client, text_file("Who,Tel\nLinden Trust,456\n", "owners.csv"))

    second = DataImport.objects.exclude(pk=row.pk).get()
    assert ColumnTemplate.objects.get().columns.columns == {"who": "name", "tel": "phone"}
    assert second.matching.sheets[0].columns == ("name", "phone")


def test_another_kind_shows_its_own_columns_and_stores_nothing(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file("Name,Owner,Address\nMill Street,Harbour Homes,x\n", "owners.csv"))
    row = DataImport.objects.get()

    page = look_through(client, row, sheet0="sites", show="1")

    assert page.status_code == 200
    assert page.context["form"]["sheet0_1"].value() == "owner"
    assert DataImport.objects.get().step == ImportStep.MATCHING


def test_two_columns_for_one_thing_are_refused(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file("Who,Name\nHarbour Homes,x\n", "owners.csv"))
    row = DataImport.objects.get()

    page = look_through(client, row, sheet0_0="name", sheet0_1="name")

    assert "Two columns are “Name”" in page.content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_technician_may_record_tests_but_no_owners(client, firm):
    client.force_login(firm.technician)
    send(client, text_file("Name\nHarbour Homes\n", "owners.csv"))
    row = DataImport.objects.get()

    look_through(client, row)

    row.refresh_from_db()
    (problem,) = row.report.problems
    assert (problem.what, row.is_ready) == ("Your role does not record this", False)
    assert "coordinator" in problem.remedy


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04nothing", "is not a spreadsheet"),
        (b"a\x00b", "is not a spreadsheet"),
        (b"x," * 300 + b"\n", "columns; at most"),
    ],
)
def test_what_is_no_sheet_is_answered_in_words(client, firm, content, said):
    client.force_login(firm.coordinator)

    answer = send(client, SimpleUploadedFile("trick.xlsx", content))

    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert not DataImport.objects.exists()


def test_the_sample_is_a_workbook_with_a_sheet_of_each_kind(client, firm):
    client.force_login(firm.technician)

    content = b"".join(client.get(reverse("exchange:import-sample")).streaming_content)

    titles = load_workbook(BytesIO(content)).sheetnames
    assert titles[:2] == ["Read me", "Columns"]
    assert len(titles) == 10


def test_an_import_is_thrown_away_with_its_sheets(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file("Name\nHarbour Homes\n", "owners.csv"))
    row = DataImport.objects.get()

    client.post(reverse("exchange:import-discard", args=[row.pk]))

    assert not DataImport.objects.exists()
    assert not Owner.objects.filter(name="Harbour Homes").exists()
    assert InfiltrationTest.objects.count() == TestRound.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_who_may_not_record_owners_has_nobody_elses_owners_stored(client, firm):
    client.force_login(firm.coordinator)
    send(client, text_file("Name\nHarbour Homes\n", "owners.csv"))
    row = DataImport.objects.get()
    look_through(client, row)
    client.force_login(firm.technician)

    answer = client.post(reverse("exchange:import-store", args=[row.pk]))

    assert "Take everything in" not in client.get(row.get_absolute_url()).content.decode()
    assert answer.status_code == 403
    row.refresh_from_db()
    assert (row.step, row.is_ready) == (ImportStep.CHECKING, True)
    assert not Owner.objects.filter(name="Harbour Homes").exists()


@pytest.mark.django_db(transaction=True)
def test_a_technician_has_cleanings_stored_that_somebody_else_sent(client, firm):
    client.force_login(firm.coordinator)
    text = f"Surface,Date,Method\n{firm.surface.name},2024-04-11,Vacuum sweeping\n"
    send(client, text_file(text, "cleanings.csv"))
    row = DataImport.objects.get()
    look_through(client, row)
    client.force_login(firm.technician)

    client.post(reverse("exchange:import-store", args=[row.pk]))

    row.refresh_from_db()
    assert row.is_stored
    assert firm.surface.cleanings.get().recorded_by == firm.coordinator
