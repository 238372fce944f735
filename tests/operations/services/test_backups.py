"""A backup taken while the server writes, and its return.

Taken and returned once in processes of their own, as people do it; what is refused is asked of the same commands here.
"""

import hashlib
import io
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tarfile
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management import CommandError, call_command
from django.db import ConnectionHandler

from operations.management.commands import restore
from operations.services import backups
from operations.services.backups import BackupBrokenError, check_backup, restore_backup

ROOT = Path(__file__).resolve().parents[3]
KNOWN = {"created_at": "2026-01-01 00:00:00", "currency": "EUR"}


def manage(data_dir, *arguments):
    environment = {**os.environ, "RAINTHROUGH_DATA_DIR": str(data_dir), "RAINTHROUGH_HTTPS": "0"}
    for name in ("DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE"):
        environment.pop(name, None)
    return subprocess.run(
        [sys.executable, "manage.py", *map(str, arguments)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        encoding="utf-8",
    )


@pytest.fixture(scope="module")
def empty(tmp_path_factory, migrated_file):
    """A data folder with the tables and nothing in them."""
    folder = tmp_path_factory.mktemp("empty")
    shutil.copy(migrated_file, folder / "rainthrough.sqlite3")
    return folder


@pytest.fixture(scope="module")
def data_dir(empty, tmp_path_factory):
    """A folder in use: a row that SQLite holds in its journal only, and a file somebody sent."""
    folder = tmp_path_factory.mktemp("used") / "data"
    shutil.copytree(empty, folder)
    sent = folder / "files" / "sent" / "ab" / "abcdef"
    sent.parent.mkdir(parents=True)
    sent.write_bytes(b"a photo")
    key = folder / "secret-key"  # as the first server in the folder makes it
    key.write_text("k3y-" * 16)
    key.chmod(0o600)
    with closing(sqlite3.connect(folder / "rainthrough.sqlite3")) as in_use:
        in_use.execute("PRAGMA journal_mode=WAL")
        put_firm(in_use, "Kept Firm")
        in_use.commit()
        yield folder


def put_firm(database, name):
    """A firm by SQL alone, since this process has another database; columns that must hold something hold 0."""
    columns = database.execute("PRAGMA table_info(accounts_organisation)").fetchall()
    row = {column: 1 if kind == "integer" else 0 for _, column, kind, needed, _, _ in columns if needed}
    row |= KNOWN | {"id": hashlib.md5(name.encode()).hexdigest(), "name": name}
    marks = ", ".join("?" * len(row))
    database.execute(
        f"INSERT INTO accounts_organisation ({', '.join(row)}) VALUES ({marks})", list(row.values())
    )


def names_in(database):
    with closing(sqlite3.connect(database)) as opened:
        return [name for (name,) in opened.execute("SELECT name FROM accounts_organisation")]


@pytest.fixture(scope="module")
def archive(data_dir, tmp_path_factory):
    """A backup of that folder, taken while it is in use. Nobody changes it."""
    target = tmp_path_factory.mktemp("kept") / "kept.tar"
    done = manage(data_dir, "backup", target)
    assert done.returncode == 0, done.stderr
    return target


@pytest.fixture
def at_home_in(monkeypatch, db):
    """Lets the commands, run in this process, keep their data in a folder, as a server of its own would.

    When a backup was made is noted in this process's database, which forgets it after the test.
    """
    opened = []

    def move(folder):
        given = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(folder / "rainthrough.sqlite3")}
        settings = SimpleNamespace(DATA_DIR=folder, MEDIA_ROOT=folder / "files", DATABASES={"default": given})
        opened.append(ConnectionHandler({"default": given})["default"])
        for module in (backups, restore):
            monkeypatch.setattr(module, "settings", settings)
            monkeypatch.setattr(module, "connection", opened[-1])

    yield move
    for connection in opened:
        connection.close()


def contents_of(archive):
    with tarfile.open(archive) as tar:
        return {member.name: tar.extractfile(member).read() for member in tar.getmembers()}


def test_a_backup_taken_in_use_comes_back_whole(data_dir, archive, tmp_path):
    fresh = tmp_path / "fresh"

    done = manage(fresh, "restore", archive)

    assert done.returncode == 0, done.stderr
    assert names_in(fresh / "rainthrough.sqlite3") == ["Kept Firm"]
    assert (fresh / "files" / "sent" / "ab" / "abcdef").read_bytes() == b"a photo"
    assert (fresh / "secret-key").read_text() == (data_dir / "secret-key").read_text()
    assert manage(fresh, "check").returncode == 0


def test_a_copy_of_the_file_in_use_would_have_lost_the_row(data_dir, tmp_path):
    """The control for the test above: what a plain copy gives."""
    copy = tmp_path / "copy.sqlite3"
    shutil.copy(data_dir / "rainthrough.sqlite3", copy)

    assert names_in(copy) == []


def test_only_the_owner_of_the_process_reads_a_backup(archive):
    assert archive.stat().st_mode & 0o077 == 0


def test_a_backup_lists_everything_the_folder_keeps_and_leaves_nothing_beside_it(
    data_dir, tmp_path, at_home_in, capsys
):
    at_home_in(data_dir)

    call_command("backup", str(tmp_path / "mine.tar"))

    kept = contents_of(tmp_path / "mine.tar")
    listed = json.loads(kept.pop("manifest.json"))["entries"]
    assert {one["name"]: one["sha256"] for one in listed} == {
        name: hashlib.sha256(content).hexdigest() for name, content in kept.items()
    }
    assert kept["files/sent/ab/abcdef"] == b"a photo"
    assert kept["secret-key"] == (data_dir / "secret-key").read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["mine.tar"]
    assert "3 files" in capsys.readouterr().out


def test_a_folder_without_key_and_files_is_backed_up_too(empty, tmp_path, at_home_in):
    bare = tmp_path / "bare"
    bare.mkdir()
    shutil.copy(empty / "rainthrough.sqlite3", bare)
    at_home_in(bare)

    manifest = backups.make_backup(tmp_path / "bare.tar")

    assert [entry.name for entry in manifest.entries] == ["database.sqlite3"]


def test_a_backup_is_never_written_over(data_dir, archive, at_home_in):
    before = archive.read_bytes()
    at_home_in(data_dir)

    with pytest.raises(CommandError, match=r"is there already\. Give another name"):
        call_command("backup", str(archive))

    assert archive.read_bytes() == before
    assert [path.name for path in archive.parent.iterdir() if path.name.startswith(".")] == []


def test_a_backup_that_cannot_be_read_back_takes_no_name(data_dir, tmp_path, at_home_in, monkeypatch):
    def break_it(archive):
        raise BackupBrokenError("files/x is missing in the backup.")

    at_home_in(data_dir)
    monkeypatch.setattr(backups, "check_backup", break_it)

    with pytest.raises(CommandError, match="files/x is missing"):
        call_command("backup", str(tmp_path / "mine.tar"))

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["backup", "restore"])
def test_with_postgresql_its_own_tools_are_named(command, tmp_path, at_home_in, monkeypatch):
    at_home_in(tmp_path)
    for module in (backups, restore):
        monkeypatch.setattr(module, "connection", SimpleNamespace(vendor="postgresql"))

    with pytest.raises(CommandError, match="pg_dump and pg_restore"):
        call_command(command, str(tmp_path / "mine.tar"))

    assert list(tmp_path.iterdir()) == []


def test_nothing_is_restored_over_data_that_are_there(data_dir, archive, at_home_in):
    at_home_in(data_dir)

    with pytest.raises(CommandError, match=r"is there already\. Move it away, or give --replace"):
        call_command("restore", str(archive))

    assert names_in(data_dir / "rainthrough.sqlite3") == ["Kept Firm"]


def test_what_is_replaced_is_kept_beside(empty, archive, tmp_path, at_home_in):
    other = tmp_path / "other"
    shutil.copytree(empty, other)
    with closing(sqlite3.connect(other / "rainthrough.sqlite3")) as database:
        put_firm(database, "Older Firm")
        database.commit()

    at_home_in(other)
    call_command("restore", str(archive), "--replace")

    assert names_in(other / "rainthrough.sqlite3") == ["Kept Firm"]
    (older,) = other.glob("rainthrough.sqlite3.before-*")
    assert names_in(older) == ["Older Firm"]


def rewritten(archive, target, change):
    """The archive with its members changed: `change` is given the contents by name."""
    contents = contents_of(archive)
    change(contents)
    with tarfile.open(target, "w") as tar:
        for name, content in contents.items():
            member = tarfile.TarInfo(name)
            member.size = len(content)
            tar.addfile(member, io.BytesIO(content))
    return target


def one_byte_changed(contents):
    contents["files/sent/ab/abcdef"] = b"a phoXo"


def one_file_lost(contents):
    del contents["files/sent/ab/abcdef"]


def no_list(contents):
    del contents["manifest.json"]


def listed(contents, **changes):
    contents["manifest.json"] = json.dumps(json.loads(contents["manifest.json"]) | changes).encode()


def no_database_listed(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    listed(contents, entries=[one for one in entries if one["name"] != "database.sqlite3"])


def list_of_nonsense(contents):
    contents["manifest.json"] = b"not json"


def newer_format(contents):
    listed(contents, format=99)


def file_outside_the_folder(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    content = contents["files/../../evil"] = b"evil"
    entry = {"name": "files/../../evil", "size_bytes": 4, "sha256": hashlib.sha256(content).hexdigest()}
    listed(contents, entries=[*entries, entry])


def database_damaged(contents):
    """A page is lost, but the file still opens."""
    damaged = bytearray(contents["database.sqlite3"])
    damaged[4096:6000] = bytes(1904)
    replace_database(contents, bytes(damaged))


def no_database_at_all(contents):
    replace_database(contents, b"these are the minutes of a meeting" * 200)


def replace_database(contents, damaged):
    contents["database.sqlite3"] = damaged
    entries = json.loads(contents["manifest.json"])["entries"]
    for entry in entries:
        if entry["name"] == "database.sqlite3":
            entry["sha256"] = hashlib.sha256(damaged).hexdigest()
            entry["size_bytes"] = len(damaged)
    listed(contents, entries=entries)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (one_byte_changed, "files/sent/ab/abcdef is not what was backed up"),
        (one_file_lost, "files/sent/ab/abcdef is missing in the backup"),
        (no_list, "no readable list of what is in it"),
        (list_of_nonsense, "no readable list of what is in it"),
        (no_database_listed, "lists no database"),
        (newer_format, "has format 99; this edition reads 1"),
        (file_outside_the_folder, "which no backup of this program has"),
        (database_damaged, "database in the backup"),
        (no_database_at_all, "database in the backup cannot be read"),
    ],
)
def test_a_backup_that_is_not_whole_is_refused_and_nothing_is_written(archive, tmp_path, change, said):
    broken = rewritten(archive, tmp_path / "broken.tar", change)
    fresh = tmp_path / "fresh"

    with pytest.raises(BackupBrokenError, match=re.escape(said)):
        restore_backup(broken, fresh, fresh / "rainthrough.sqlite3")

    assert list(fresh.iterdir()) == []
    assert not (tmp_path / "evil").exists()


def test_a_process_that_refuses_a_backup_says_why_and_ends_with_an_error(archive, tmp_path):
    broken = rewritten(archive, tmp_path / "broken.tar", one_byte_changed)

    done = manage(tmp_path / "fresh", "restore", broken)

    assert done.returncode != 0
    assert done.stderr.startswith("CommandError: files/sent/ab/abcdef is not what was backed up")
    assert not (tmp_path / "fresh" / "rainthrough.sqlite3").exists()


@pytest.mark.parametrize("length", [0, 300, 20_000])
def test_a_backup_cut_short_is_refused(archive, tmp_path, length):
    short = tmp_path / "short.tar"
    short.write_bytes(archive.read_bytes()[:length])

    with pytest.raises(BackupBrokenError, match=r"Take another one|no readable list"):
        check_backup(short)


def test_a_backup_that_is_not_there_is_named(tmp_path):
    with pytest.raises(BackupBrokenError, match=r"mistyped\.tar is not there"):
        check_backup(tmp_path / "mistyped.tar")


def test_a_folder_under_the_name_of_a_file_is_no_backup_of_it(archive, tmp_path):
    broken = rewritten(archive, tmp_path / "broken.tar", one_file_lost)
    with tarfile.open(broken, "a") as tar:
        folder = tarfile.TarInfo("files/sent/ab/abcdef")
        folder.type = tarfile.DIRTYPE
        tar.addfile(folder)

    with pytest.raises(BackupBrokenError, match="files/sent/ab/abcdef is no plain file"):
        check_backup(broken)


def test_checking_alone_touches_nothing(archive, tmp_path, at_home_in, capsys):
    at_home_in(tmp_path)

    call_command("restore", str(archive), "--check")

    assert capsys.readouterr().out.startswith("Whole: 3 files of ")
    assert list(tmp_path.iterdir()) == []
