"""The tests' tables are made from the models at once; migrations, as a firm runs them, make the same ones."""

import shutil
import sqlite3
import subprocess
import sys

import pytest

from tests.concurrency.servers import ROOT, server_environment

MIGRATE = [sys.executable, "manage.py", "migrate", "-v0"]
TABLES = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"


def read(folder):
    """A cursor of the database there, and the names of its tables."""
    cursor = sqlite3.connect(folder / "firm.sqlite3").cursor()
    return cursor, {name for (name,) in cursor.execute(TABLES).fetchall()}


@pytest.fixture(scope="module")
def migrated(tmp_path_factory):
    folder = tmp_path_factory.mktemp("migrated")
    subprocess.run(MIGRATE, cwd=ROOT, env=server_environment(folder), check=True)
    return read(folder)


@pytest.fixture(scope="module")
def modelled(tmp_path_factory, migrated_file):
    folder = tmp_path_factory.mktemp("modelled")
    shutil.copy(migrated_file, folder / "firm.sqlite3")
    return read(folder)


def shape_of(cursor, table):
    """Columns, keys to other tables, indexes with their columns, and checks; whatever the order they were made in."""

    def rows(pragma, of):
        return cursor.execute(f"PRAGMA {pragma}('{of}')").fetchall()

    columns = sorted(row[1:] for row in rows("table_info", table))
    keys = sorted(row[2:] for row in rows("foreign_key_list", table))
    indexes = sorted(
        (unique, origin, partial, [column for _, _, column in rows("index_info", name)])
        for _, name, unique, origin, partial in rows("index_list", table)
    )
    (sql,) = cursor.execute("SELECT sql FROM sqlite_master WHERE name = ?", [table]).fetchone()
    return columns, keys, indexes, sorted(checks_in(sql))


def checks_in(sql):
    """The named checks of a table: what stands behind each CONSTRAINT."""
    return [part.strip(" ,)") for part in sql.split("CONSTRAINT ")[1:] if " CHECK " in part]


def test_migrations_make_the_tables_of_the_models(migrated, modelled):
    (theirs, their_names), (ours, our_names) = migrated, modelled

    assert their_names == our_names
    assert len(our_names) > 100
    for name in sorted(our_names):
        assert shape_of(theirs, name) == shape_of(ours, name), name


def test_a_check_that_differs_is_seen(modelled):
    cursor, _ = modelled
    cursor.execute("CREATE TABLE one (a integer, CONSTRAINT few CHECK (a < 3))")
    cursor.execute("CREATE TABLE other (a integer, CONSTRAINT few CHECK (a < 4))")

    assert shape_of(cursor, "one") != shape_of(cursor, "other")
