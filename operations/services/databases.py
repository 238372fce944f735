"""Databases that are read or written whole: as of one moment while others write, and in a file of their own."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder


@contextmanager
def as_of_now(folder: Path, alias: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """A database as it is at this moment, whatever others write meanwhile; gives the name to read it by.

    PostgreSQL holds such a view for a transaction. SQLite writes a copy into `folder`: a transaction of the length of
    a backup would have everybody else wait, since this server's transactions take the lock for writing.
    """
    connection = connections[alias]
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(folder / "copy.sqlite3")])
        with at_file(folder / "copy.sqlite3", alias) as copy:
            yield copy
    else:
        with transaction.atomic(using=alias):
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield alias


@contextmanager
def at_file(path: Path, like: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """A SQLite database in a file beside the server's own, with the settings of that; gives the name to use it by."""
    alias = f"{like} in {path.name}"
    connections[alias] = connections[like].copy(alias)
    connections[alias].settings_dict["NAME"] = str(path)
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]


def migrations_of_this_edition() -> set[str]:
    """The migrations that this edition's tables need, by app and name."""
    return {".".join(key) for key in MigrationLoader(None).disk_migrations}


def migrations_run(alias: str) -> set[str]:
    """Those that were run in a database."""
    return {".".join(key) for key in MigrationRecorder(connections[alias]).applied_migrations()}
