"""A backup taken while the server writes, and its return. Everything runs in processes of its own, as people run it."""

import hashlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tarfile
from contextlib import closing
from pathlib import Path

import pytest

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
def empty(tmp_path_factory):
    """A data folder with the tables and nothing in them."""
    folder = tmp_path_factory.mktemp("empty")
    done = manage(folder, "migrate", "-v0")
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def data_dir(empty, tmp_path_factory):
    """A folder in use: a row that SQLite holds in its journal only, and a file somebody sent."""
    folder = tmp_path_factory.mktemp("used") / "data"
    shutil.copytree(empty, folder)
    sent = folder / "files" / "sent" / "ab" / "abcdef"
    sent.parent.mkdir(parents=True)
    sent.write_bytes(b"a photo")
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


def test_a_backup_is_never_written_over(data_dir, archive):
    before = archive.read_bytes()

    done = manage(data_dir, "backup", archive)

    assert done.returncode != 0
    assert "is there already. Give another name" in done.stderr
    assert archive.read_bytes() == before
    assert [path.name for path in archive.parent.iterdir() if path.name.startswith(".")] == []


def test_nothing_is_restored_over_data_that_are_there(data_dir, archive):
    done = manage(data_dir, "restore", archive)

    assert done.returncode != 0
    assert "is there already. Move it away, or give --replace" in done.stderr
    assert names_in(data_dir / "rainthrough.sqlite3") == ["Kept Firm"]


def test_what_is_replaced_is_kept_beside(empty, archive, tmp_path):
    other = tmp_path / "other"
    shutil.copytree(empty, other)
    with closing(sqlite3.connect(other / "rainthrough.sqlite3")) as database:
        put_firm(database, "Older Firm")
        database.commit()

    done = manage(other, "restore", archive, "--replace")

    assert done.returncode == 0, done.stderr
    assert names_in(other / "rainthrough.sqlite3") == ["Kept Firm"]
    (older,) = other.glob("rainthrough.sqlite3.before-*")
    assert names_in(older) == ["Older Firm"]


def rewritten(archive, target, change):
    """The archive with its members changed: `change` is given the contents by name."""
    with tarfile.open(archive) as tar:
        contents = {member.name: tar.extractfile(member).read() for member in tar.getmembers()}
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


def newer_format(contents):
    listed(contents, format=99)


def file_outside_the_folder(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    content = contents["files/../../evil"] = b"evil"
    entry = {"name": "files/../../evil", "size_bytes": 4, "sha256": hashlib.sha256(content).hexdigest()}
    listed(contents, entries=[*entries, entry])


def database_damaged(contents):
    damaged = bytearray(contents["database.sqlite3"])
    damaged[4096:6000] = bytes(1904)
    contents["database.sqlite3"] = bytes(damaged)
    entries = json.loads(contents["manifest.json"])["entries"]
    for entry in entries:
        if entry["name"] == "database.sqlite3":
            entry["sha256"] = hashlib.sha256(bytes(damaged)).hexdigest()
    listed(contents, entries=entries)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (one_byte_changed, "files/sent/ab/abcdef is not what was backed up"),
        (one_file_lost, "files/sent/ab/abcdef is missing in the backup"),
        (no_list, "no readable list of what is in it"),
        (newer_format, "has format 99; this edition reads 1"),
        (file_outside_the_folder, "which no backup of this program has"),
        (database_damaged, "database in the backup"),
    ],
)
def test_a_backup_that_is_not_whole_is_refused_and_nothing_is_written(archive, tmp_path, change, said):
    broken = rewritten(archive, tmp_path / "broken.tar", change)
    fresh = tmp_path / "fresh"

    done = manage(fresh, "restore", broken)

    assert done.returncode != 0
    assert said in done.stderr
    assert not (fresh / "rainthrough.sqlite3").exists()
    assert not (fresh / "files").exists()
    assert not (tmp_path / "evil").exists()


def test_a_backup_cut_short_is_refused(data_dir, archive, tmp_path):
    short = tmp_path / "short.tar"
    short.write_bytes(archive.read_bytes()[:20_000])

    done = manage(data_dir, "restore", "--check", short)

    assert done.returncode != 0
    assert "Take another one" in done.stderr or "no readable list" in done.stderr


def test_checking_alone_touches_nothing(data_dir, archive):
    done = manage(data_dir, "restore", "--check", archive)

    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Whole: 3 files of ")
