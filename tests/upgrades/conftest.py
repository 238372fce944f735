"""The database of the first release, brought up to today, on SQLite and on PostgreSQL."""

import shutil
from itertools import count
from types import SimpleNamespace

import environ
import psycopg
import pytest
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, connections, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.test import override_settings

from tests.concurrency.servers import postgres
from tests.databases import as_default
from tests.upgrades.first_release import restore_into

OLD = "first_release"  # the connection that the rows are read from


def with_migrations():
    """The migrations there are; the tests' own database is made without, and from then on the process knows none."""
    return override_settings(MIGRATION_MODULES={})


@pytest.fixture(scope="session", params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def upgraded(request, tmp_path_factory, django_db_blocker):
    """How many rows the tables of the first release held, where it is, and what copies it."""
    folder = tmp_path_factory.mktemp("upgraded")
    old = folder / "first.sqlite3"
    restore_into(old)
    with django_db_blocker.unblock():
        if request.param == "sqlite":
            with with_migrations():
                made = _on_sqlite(folder, old)
            yield made
        else:
            with postgres() as url:
                with with_migrations():
                    made = _on_postgres(url, old)
                yield made


@pytest.fixture
def first_release(upgraded, django_db_blocker):
    """The default connection leads to the upgraded database; what a test changes in its rows is undone."""
    with django_db_blocker.unblock(), with_migrations(), as_default(upgraded.settings), transaction.atomic():
        yield upgraded
        transaction.set_rollback(True)


@pytest.fixture
def copied_release(upgraded, django_db_blocker):
    """The same with a copy, whose tables a test may change."""
    with django_db_blocker.unblock(), with_migrations(), as_default(upgraded.copy()):
        yield upgraded


def settings_of(url):
    return connections.configure_settings({"default": environ.Env.db_url_config(url)})["default"]


def _on_sqlite(folder, old):
    numbers = count()

    def copy():
        made = folder / f"copy{next(numbers)}.sqlite3"
        shutil.copy(old, made)
        return settings_of(f"sqlite:///{made}")

    given = settings_of(f"sqlite:///{old}")
    with as_default(given):
        rows = rows_by_table()
        call_command("migrate", verbosity=0)
        connection.close()
    return SimpleNamespace(rows=rows, settings=given, copy=copy)


def _on_postgres(url, old):
    numbers, server = count(), url.rpartition("/")[0]

    def named(name, like):
        host = server.rpartition("@/")[2]
        with psycopg.connect(host=host, user="postgres", dbname="template1", autocommit=True) as admin:
            admin.execute(f"CREATE DATABASE {name} TEMPLATE {like}")
        return settings_of(f"{server}/{name}")

    given = named("first", "template0")
    with as_default(given):
        _filled_from(old)
        rows = rows_by_table()
        call_command("migrate", verbosity=0)
        connection.close()
    return SimpleNamespace(rows=rows, settings=given, copy=lambda: named(f"copy{next(numbers)}", "first"))


def _filled_from(old):
    """Make the tables from the models of that day, in a tenth of the time of the migrations, and their rows."""
    connections.settings[OLD] = settings_of(f"sqlite:///{old}")
    try:
        loader = MigrationLoader(connections[OLD])
        ran = sorted(set(loader.applied_migrations) & set(loader.graph.nodes))
        models = loader.project_state(ran).apps.get_models(include_auto_created=True)
        with connection.schema_editor() as editor:
            for model in models:
                if not model._meta.auto_created:  # those come with the model that has them
                    editor.create_model(model)
        with transaction.atomic():
            for model in models:
                _copied(model)
        _noted(ran)
    finally:
        connections[OLD].close()
        del connections.settings[OLD]
        del connections[OLD]


def _noted(ran):
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    for app, name in ran:
        recorder.record_applied(app, name)


def _copied(model):
    for field in model._meta.local_fields:
        field.auto_now = field.auto_now_add = False  # as they were, rather than of this moment
    model._base_manager.bulk_create(model._base_manager.using(OLD).iterator())
    for sql in connection.ops.sequence_reset_sql(no_style(), [model]):
        with connection.cursor() as cursor:
            cursor.execute(sql)


def rows_by_table():
    """How many rows each table holds."""
    with connection.cursor() as cursor:
        names = [name for name in connection.introspection.table_names(cursor) if name != "django_migrations"]
        counted = {}
        for name in names:
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")
            (counted[name],) = cursor.fetchone()
    return counted
