"""A backup put where the server keeps its data, all of it or nothing, and read back row by row."""

import shutil
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, transaction
from django.utils.timezone import now

from core.errors import NotAllowedNowError
from operations.calc.manifest import FILES, KEY, BackupBrokenError, Manifest
from operations.services.backups import check_backup, lines_in, opened, take
from operations.services.databases import at_file, migrations_of_this_edition
from operations.services.table_rows import (
    column_names,
    erase_all,
    put_lines,
    refuse_unlike,
    settle_keys,
    stored_models,
)

NEW = "new.sqlite3"
MADE_BY_MIGRATE = (
    "django_content_type",
    "auth_permission",
)  # what an empty database that is up to date holds
IN_THE_WAY = (
    "{path} is there already. Move it away, or give --replace to have it kept beside the restored one."
)
NOT_EMPTY = (
    "The database holds rows already, such as of {table}. Nothing is restored over them: create an empty database and "
    "name it in DATABASE_URL."
)
OTHER_MIGRATIONS = (
    "The backup is of an edition with other migrations: {names}. Restore it with that edition; afterwards migrate with "
    "this one."
)
OTHER_TABLES = (
    "The backup is of an edition with other tables or columns: {names}. Restore it with that edition."
)
NOT_STORED = "The rows of {table} could not be stored: {error}. Nothing was restored."


def restore_backup(archive: Path, *, replace: bool = False, alias: str = DEFAULT_DB_ALIAS) -> Manifest:
    """Put a backup where this server keeps its data, all of it or nothing; the server must be stopped.

    Nothing is erased. With SQLite and `replace`, what was there is kept beside it under a name that says when; a
    signing key, which every start makes where there is none, is kept so without asking. PostgreSQL must be empty.
    Raises BackupBrokenError, or NotAllowedNowError where something is in the way or does not fit.
    """
    manifest = check_backup(archive)
    _refuse_other_edition(manifest)
    connection, data_dir = connections[alias], Path(settings.DATA_DIR)
    is_file = connection.vendor == "sqlite"
    database = Path(connection.settings_dict["NAME"]) if is_file else None
    _refuse_what_is_there(alias, database, replace)
    data_dir.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(dir=data_dir, prefix=".restore-") as name:
        folder = Path(name)
        _unpack(archive, manifest, folder)
        if database is not None:
            with at_file(folder / NEW, alias) as new:
                _fill(archive, manifest, new)
            connection.close()
            with ExitStack() as undoing:
                _put_in_place(folder, database, undoing)
                undoing.pop_all()
        else:
            _fill(archive, manifest, alias, folder)
    return manifest


def _refuse_other_edition(manifest: Manifest) -> None:
    if other := set(manifest.migrations) ^ migrations_of_this_edition():
        raise NotAllowedNowError(OTHER_MIGRATIONS.format(names=", ".join(sorted(other))))
    here = {(model._meta.db_table, name) for model in stored_models() for name in column_names(model)}
    kept = {(table.name, name) for table in manifest.tables for name in table.columns}
    if strange := here ^ kept:
        names = ", ".join(sorted(f"{table}.{name}" for table, name in strange))
        raise NotAllowedNowError(OTHER_TABLES.format(names=names))


def _in_place(database: Path | None) -> list[Path]:
    """What a restored server would meet. What SQLite keeps beside a database in use would spoil the new one."""
    beside = [Path(f"{database}{ending}") for ending in ("", "-wal", "-shm")] if database else []
    files = Path(settings.MEDIA_ROOT)
    is_used = files.is_dir() and any(files.iterdir())
    return [path for path in beside if path.exists()] + ([files] if is_used else [])


def _refuse_what_is_there(alias: str, database: Path | None, replace: bool) -> None:
    present = _in_place(database)
    if present and not replace:
        raise NotAllowedNowError(IN_THE_WAY.format(path=present[0]))
    if database is None:
        _refuse_rows(alias)


def _refuse_rows(alias: str) -> None:
    """Asked of the tables that there are, whichever edition made them."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        present = set(connection.introspection.table_names(cursor)) - set(MADE_BY_MIGRATE)
        for table in sorted(present & {model._meta.db_table for model in stored_models()}):
            cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")
            if cursor.fetchone():
                raise NotAllowedNowError(NOT_EMPTY.format(table=table))


def _unpack(archive: Path, manifest: Manifest, folder: Path) -> None:
    """The files and the key; rows are read from the backup itself."""
    with opened(archive) as tar:
        for entry in manifest.entries:
            if entry.name == KEY or entry.name.startswith(f"{FILES}/"):
                target = folder / entry.name
                target.parent.mkdir(parents=True, exist_ok=True)
                with target.open("xb") as copy:
                    take(tar, entry, copy)
    if (folder / KEY).exists():
        (folder / KEY).chmod(0o600)


def _fill(archive: Path, manifest: Manifest, alias: str, folder: Path | None = None) -> None:
    """Make the tables and fill them; with a folder, what lies in it takes its place with the rows, or neither does."""
    call_command("migrate", database=alias, verbosity=0, interactive=False, run_syncdb=True)
    models = {model._meta.db_table: model for model in stored_models()}
    with ExitStack() as undoing, transaction.atomic(using=alias), opened(archive) as tar:
        erase_all(alias)
        for table in manifest.tables:
            try:
                put_lines(models[table.name], lines_in(tar, table), alias)
            except DatabaseError as error:
                raise BackupBrokenError(NOT_STORED.format(table=table.name, error=error)) from error
        settle_keys(alias)
        for table in manifest.tables:
            refuse_unlike(models[table.name], lines_in(tar, table), alias)
        if folder is not None:
            _put_in_place(folder, None, undoing)
        transaction.on_commit(undoing.pop_all, using=alias)


def _put_in_place(folder: Path, database: Path | None, undoing: ExitStack) -> None:
    """Move what was unpacked to where it belongs, and what was there aside; `undoing` learns how to take it back."""
    key = Path(settings.DATA_DIR) / KEY
    stamp = now().strftime("%Y%m%dT%H%M%S%f")
    for path in (*_in_place(database), key):
        if path.exists():
            _move(path, path.with_name(f"{path.name}.before-{stamp}"), undoing)
    files = Path(settings.MEDIA_ROOT)
    files.mkdir(parents=True, exist_ok=True)  # it may be a disk of its own, which stays where it is
    places = {path: files / path.name for path in sorted((folder / FILES).glob("*"))} | {folder / KEY: key}
    if database is not None:
        places[folder / NEW] = database
    for source, target in places.items():
        if source.exists():
            _move(source, target, undoing)


def _move(source: Path, target: Path, undoing: ExitStack) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.move(source, target)
    undoing.callback(shutil.move, target, source)
