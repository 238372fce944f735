"""Two editions on one database: the migration of the newer one has run, and processes of the older one go on."""

import pytest
from django.db import IntegrityError, connection, migrations, models
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from accounts.models import User
from operations.selectors.state import check_database
from qa.models import InfiltrationTest, Surface
from tests.upgrades.additive import not_additive
from tests.upgrades.first_release import ADMIN
from tests.upgrades.recording import record_round_and_test


def migrated_to_tomorrow(*fields):
    """Run the migration of an edition to come, which this process knows nothing of; what the check says of it."""
    state = MigrationExecutor(connection).loader.project_state()
    migration = migrations.Migration("0999_of_tomorrow", "qa")
    migration.operations = [migrations.AddField("infiltrationtest", *field) for field in fields]
    words = not_additive(migration, state)
    with connection.schema_editor() as editor:
        migration.apply(state, editor)
    return words


@pytest.fixture
def office(copied_release):
    client = Client()
    client.force_login(User.objects.get(email=ADMIN))
    return client


def surface():
    return Surface.objects.order_by("pk").filter(site__organisation__memberships__user__email=ADMIN).first()


def test_an_older_process_reads_and_writes_beside_columns_that_it_does_not_know(office):
    words = migrated_to_tomorrow(
        ("shade", models.FloatField(null=True)),
        ("drains", models.PositiveIntegerField(db_default=3)),
    )
    before = InfiltrationTest.objects.count()
    record_round_and_test(office, surface())

    assert words == []
    assert InfiltrationTest.objects.count() == before + 1
    assert office.get(surface().get_absolute_url()).status_code == 200
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM qa_infiltrationtest WHERE drains = 3 AND shade IS NULL")
        assert cursor.fetchone() == (before + 1,)


def test_with_a_default_in_python_alone_it_could_not_write(office):
    """The control: what the check refuses is what breaks."""
    words = migrated_to_tomorrow(("drains", models.PositiveIntegerField(default=3)))

    assert len(words) == 1
    with pytest.raises(IntegrityError, match="drains"):
        record_round_and_test(office, surface())


def test_an_older_process_stays_ready_when_the_database_is_ahead(first_release):
    MigrationRecorder(connection).record_applied("qa", "0999_of_tomorrow")

    assert check_database().is_well


def test_a_newer_process_is_not_ready_before_the_migration_has_run(first_release):
    """So whoever decides where requests go sends it none."""
    MigrationRecorder(connection).record_unapplied("qa", "0001_register")

    assert not check_database().is_well
