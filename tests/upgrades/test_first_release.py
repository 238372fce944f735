"""Who began with the first release can go on with today's: every row is there, and what was stored still opens."""

import pytest
from django.apps import apps
from django.conf import global_settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.test import Client
from django.urls import reverse

from core.errors import UnreadablePayloadError
from core.models.payloads import StoredPayload
from maintenance.models import Forecast
from maintenance.selectors.fits import stored_fit
from maintenance.services import fits
from reporting.calc.schemas import TYPES
from reporting.calc.snapshots import SnapshotKind
from reporting.models import Snapshot
from tests.upgrades.conftest import rows_by_table
from tests.upgrades.first_release import ADMIN, PASSWORD
from tests.upgrades.recording import record_round_and_test

GROWS = {"auth_permission", "django_content_type"}  # of models that came later


@pytest.fixture
def office(first_release, settings):
    """The admin of the firm, signed in with the password of that day."""
    settings.PASSWORD_HASHERS = global_settings.PASSWORD_HASHERS  # the tests have a faster one
    client = Client()
    answer = client.post(reverse("account_login"), {"login": ADMIN, "password": PASSWORD})
    assert answer.status_code == 302
    return client


def forecast_then():
    return Forecast.objects.exclude(outlook_json=None).order_by("pk").first()


def stored_payloads():
    """Each column of JSON that a dataclass reads, with its model."""
    for model in apps.get_models():
        for name, found in vars(model).items():
            if isinstance(found, StoredPayload):
                yield model, name, found


def unreadable():
    """What is stored and no longer read, in words."""
    for model, name, found in stored_payloads():
        for row in model._base_manager.exclude(**{found.column: None}):
            if not opens(row, name):
                yield f"{model._meta.label} {row.pk}: {name}"
    for kept in Snapshot.objects.all():
        if TYPES[SnapshotKind(kept.kind)].read(kept.payload) is None:
            yield f"{kept._meta.label} {kept.pk}: payload"


def opens(row, name):
    try:
        return getattr(row, name) is not None
    except UnreadablePayloadError:
        return False


def test_every_row_of_the_first_release_is_there(first_release):
    now_there = rows_by_table()

    assert first_release.rows["qa_infiltrationtest"] > 30
    for table, rows in first_release.rows.items():
        assert now_there.get(table, 0) >= rows if table in GROWS else now_there.get(table) == rows, table


def test_nothing_is_left_to_migrate(first_release):
    executor = MigrationExecutor(connection)

    assert not executor.migration_plan(executor.loader.graph.leaf_nodes())
    connection.check_constraints()


def test_whatever_was_stored_as_json_opens(first_release):
    assert list(unreadable()) == []


def test_a_schema_without_an_upgrade_would_be_seen(first_release):
    row = Snapshot.objects.first()
    Snapshot.objects.filter(pk=row.pk).update(payload=row.payload | {"schema": 0})
    forecast = forecast_then()
    Forecast.objects.filter(pk=forecast.pk).update(outlook_json=forecast.outlook_json | {"schema": 0})

    assert {words.split()[1].strip(":") for words in unreadable()} == {str(row.pk), str(forecast.pk)}


def test_documents_kept_then_read_as_they_did(office):
    kept = list(Snapshot.objects.all())

    assert len(kept) >= 4
    for document in kept:
        page = office.get(document.get_absolute_url())
        assert page.status_code == 200
        assert document.site.name in page.content.decode()


def test_pages_of_what_was_recorded_open(office):
    """The forecast is shown as it was stored; one that cannot be read would be on its way."""
    surface = forecast_then().surface
    for row in (surface, surface.site, surface.rounds.first()):
        assert office.get(row.get_absolute_url()).status_code == 200, row
    assert office.get("/").status_code == 200
    assert forecast_then().outlook.rate_now_mm_h.median == pytest.approx(forecast_then().rate_now_mm_h)


def test_the_fit_is_used_or_asked_for_anew(first_release):
    """Another edition of the model makes its own; nobody is left with one that it cannot read."""
    organisation = forecast_then().surface.organisation
    at_hand = stored_fit(organisation)

    assert at_hand.parameters.n_tests > 20 or fits.replace_outdated_fits() == 1


def test_a_test_recorded_today_stands_beside_those_of_then(office):
    surface = forecast_then().surface
    before = surface.record_version
    record_round_and_test(office, surface)

    surface.refresh_from_db()
    assert surface.record_version > before
