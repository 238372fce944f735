"""How far an import is, without a broker: the page comes at once, and tells what the thread wrote into the row."""

from threading import Event

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from exchange.calc.payloads import Matching, SheetMatch
from exchange.calc.reading import read_file
from exchange.models import DataImport
from exchange.services import imports
from tests.conftest import new_firm

PATIENCE_S = 60
MATCHING = Matching((SheetMatch("owners", ("name", "phone")),))


@pytest.fixture
def own_firm(transactional_db):
    return new_firm()


@pytest.fixture
def held(monkeypatch):
    """An import that waits after 3 of 8 rows until it may go on."""
    at_work, go_on = Event(), Event()
    prepare = imports.prepare

    def waits(**asked):
        asked["tell"](3, 8)
        at_work.set()
        assert go_on.wait(PATIENCE_S)
        return prepare(**asked)

    monkeypatch.setattr(imports, "prepare", waits)
    monkeypatch.setattr("exchange.services.files.read_apart", read_file)
    return at_work, go_on


def until_done(row):
    for _ in range(PATIENCE_S * 10):
        row.refresh_from_db()
        if not row.is_unfinished:
            return row
        Event().wait(0.1)
    raise AssertionError(f"{row.state} {row.error}")


def test_the_page_comes_at_once_and_shows_how_many_rows_are_read(client, own_firm, held):
    at_work, go_on = held
    client.force_login(own_firm.coordinator)
    row = DataImport(organisation=own_firm.organisation, made_by=own_firm.coordinator)
    sent = [SimpleUploadedFile("owners.csv", b"Name,Phone\nHarbour Homes,123\n")]
    row = imports.begin_import(data_import=row, sent=sent)

    imports.match_columns(data_import=row, matching=MATCHING)  # returns while the import is at work
    assert at_work.wait(PATIENCE_S)
    page = client.get(reverse("exchange:import-progress", args=[row.pk])).content.decode()
    go_on.set()

    assert "data-unfinished" in page
    assert 'value="3"' in page
    assert 'max="8"' in page
    assert "3 of 8 rows read" in " ".join(page.split())
    assert until_done(row).is_ready


def test_while_everything_is_written_at_once_the_page_says_so_without_a_number(client, own_firm):
    client.force_login(own_firm.coordinator)
    row = DataImport.objects.create(
        organisation=own_firm.organisation,
        made_by=own_firm.coordinator,
        state="running",
        progress_word="every row is read, and all are being stored at once",
    )

    page = client.get(reverse("exchange:import-progress", args=[row.pk])).content.decode()

    assert "being stored at once" in page
    assert "data-unfinished" in page
    assert "value=" not in page
