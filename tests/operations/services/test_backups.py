"""A backup taken while the server writes, from either kind of database, and its return into either, row by row."""

import gzip
import hashlib
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

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError, connections, transaction

from accounts.models import Organisation
from core.errors import NotAllowedNowError
from operations.calc.manifest import BackupBrokenError
from operations.services import backups, restores, signs
from operations.services.backups import check_backup, make_backup
from operations.services.restores import restore_backup
from operations.services.table_rows import erase_all, lines_of, put_lines, settle_keys, stored_models
from qa.models import Surface
from tests.concurrency.servers import postgres
from tests.operations.archives import contents_of, every_line, known_as, listed, replaced, rewritten

ROOT = Path(__file__).resolve().parents[3]
FIRMS, SURFACES = "rows/accounts_organisation.jsonl.gz", "rows/qa_surface.jsonl.gz"
LATE = "INSERT INTO operations_sign (of, seen_at) VALUES ('late', '2026-01-01 00:00:00+00:00')"

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept_file(standing, tmp_path_factory, migrated_file, django_db_blocker):
    """A SQLite file with a row of each kind, as the tests' own database has them in a transaction."""
    file = tmp_path_factory.mktemp("kept") / "rainthrough.sqlite3"
    shutil.copy(migrated_file, file)
    with (
        django_db_blocker.unblock(),
        known_as("filling", f"sqlite:///{file}"),
        transaction.atomic(using="filling"),
    ):
        erase_all("filling")
        for model in stored_models():
            put_lines(model, lines_of(model, "default"), "filling")
        settle_keys("filling")
    return file


@pytest.fixture(scope="module")
def postgres_url():
    with postgres() as url:
        yield url


@pytest.fixture
def on_server(postgres_url, db):
    """An empty database in a PostgreSQL."""
    with known_as("server", postgres_url) as alias:
        yield alias
        with connections[alias].cursor() as cursor:
            cursor.execute("DROP SCHEMA public CASCADE")
            cursor.execute("CREATE SCHEMA public")


@pytest.fixture
def home(tmp_path, settings):
    """Lets the commands, run in this process, keep files and key in a folder of the test."""

    def move(folder):
        settings.DATA_DIR, settings.MEDIA_ROOT = folder, folder / "files"
        return folder

    return move


@pytest.fixture
def used(kept_file, tmp_path, home, db):
    """A data folder in use, with a file somebody sent and a key; its database goes by the name `used`."""
    folder = home(tmp_path / "used")
    sent = folder / "files" / "sent" / "ab" / "abcdef"
    sent.parent.mkdir(parents=True)
    sent.write_bytes(b"a photo")
    (folder / "secret-key").write_text("k3y-" * 16)
    shutil.copy(kept_file, folder)
    with known_as("used", f"sqlite:///{folder}/rainthrough.sqlite3"):
        yield folder


@pytest.fixture(scope="module")
def made_before(tmp_path_factory):
    """Where the first backup of what every test begins with is kept: the next ones would be the same."""
    return tmp_path_factory.mktemp("made") / "kept.tar"


@pytest.fixture
def archive(used, tmp_path, made_before):
    if not made_before.exists():
        make_backup(made_before, "used")
    return Path(shutil.copy(made_before, tmp_path))


@pytest.fixture
def fresh(tmp_path, home, archive):
    """A folder with nothing in it, to restore into, by the name `fresh`."""
    folder = home(tmp_path / "fresh")
    with known_as("fresh", f"sqlite:///{folder}/rainthrough.sqlite3"):
        yield folder


def test_a_row_of_each_kind_goes_from_one_kind_of_database_to_the_other_and_back(
    used, archive, fresh, on_server, tmp_path, home
):
    before = every_line("used")
    assert sum(map(len, before.values())) > 200
    assert sum(1 for rows in before.values() if rows) > 60
    home(tmp_path / "between")

    restore_backup(archive, alias=on_server)
    between = every_line(on_server)
    make_backup(tmp_path / "back.tar", on_server)
    home(fresh)
    restore_backup(tmp_path / "back.tar", alias="fresh")

    assert between == before
    assert every_line("fresh") == before
    rows = {name: packed for name, packed in contents_of(archive).items() if name.startswith("rows/")}
    assert rows.items() <= contents_of(tmp_path / "back.tar").items()
    assert (fresh / "files" / "sent" / "ab" / "abcdef").read_bytes() == b"a photo"
    assert (fresh / "secret-key").read_text() == "k3y-" * 16
    assert (fresh / "secret-key").stat().st_mode & 0o077 == 0
    assert {path.name for path in fresh.iterdir()} == {"files", "secret-key", "rainthrough.sqlite3"}


@pytest.mark.parametrize("kind", ["fresh", "on_server"])
def test_new_rows_are_numbered_after_those_that_came_back(request, archive, fresh, kind):
    alias = "fresh" if kind == "fresh" else request.getfixturevalue(kind)
    restore_backup(archive, alias=alias)
    version = Surface.history.using(alias).order_by("history_id").last()
    last, version.pk = version.pk, None

    version.save(using=alias, force_insert=True)

    assert version.pk == last + 1


def write_meanwhile(monkeypatch, alias, statement=LATE):
    """While a backup reads the tables, somebody else writes a row to the last one but some."""
    read = backups.lines_of

    def lines(model, there):
        if model._meta.db_table == "operations_sign":
            with known_as("somebody", alias) as other, connections[other].cursor() as cursor:
                cursor.execute(statement)
        return read(model, there)

    monkeypatch.setattr(backups, "lines_of", lines)


def signs_in(archive):
    return gzip.decompress(contents_of(archive)["rows/operations_sign.jsonl.gz"]).decode()


def test_what_is_written_meanwhile_is_in_the_next_backup_with_sqlite(used, tmp_path, monkeypatch):
    write_meanwhile(monkeypatch, f"sqlite:///{used}/rainthrough.sqlite3")
    make_backup(tmp_path / "first.tar", "used")
    monkeypatch.undo()
    make_backup(tmp_path / "next.tar", "used")

    assert "late" not in signs_in(tmp_path / "first.tar")
    assert "late" in signs_in(tmp_path / "next.tar")


def test_what_is_written_meanwhile_is_in_the_next_backup_with_postgresql(
    archive, on_server, postgres_url, tmp_path, home, monkeypatch
):
    home(tmp_path / "new")
    restore_backup(archive, alias=on_server)
    write_meanwhile(monkeypatch, postgres_url)
    make_backup(tmp_path / "first.tar", on_server)
    monkeypatch.undo()
    make_backup(tmp_path / "next.tar", on_server)

    assert "late" not in signs_in(tmp_path / "first.tar")
    assert "late" in signs_in(tmp_path / "next.tar")


def test_a_row_that_sqlite_holds_in_its_journal_only_is_kept(used, tmp_path):
    """A plain copy of the file would lack it: the control."""
    with closing(sqlite3.connect(used / "rainthrough.sqlite3")) as in_use:
        in_use.execute("PRAGMA journal_mode=WAL")
        in_use.execute(LATE)
        in_use.commit()
        shutil.copy(used / "rainthrough.sqlite3", tmp_path / "copy.sqlite3")
        make_backup(tmp_path / "kept.tar", "used")

    assert "late" in signs_in(tmp_path / "kept.tar")
    with closing(sqlite3.connect(tmp_path / "copy.sqlite3")) as copy:
        assert copy.execute("SELECT * FROM operations_sign WHERE of = 'late'").fetchall() == []


def test_a_backup_lists_everything_and_leaves_nothing_beside_it(used, archive, tmp_path):
    kept = contents_of(archive)
    entries = json.loads(kept.pop("manifest.json"))["entries"]

    assert {one["name"]: one["sha256"] for one in entries} == {
        name: hashlib.sha256(content).hexdigest() for name, content in kept.items()
    }
    assert kept["files/sent/ab/abcdef"] == b"a photo"
    assert kept["secret-key"] == b"k3y-" * 16
    assert {path.name for path in tmp_path.iterdir()} == {"used", "kept.tar"}
    assert archive.stat().st_mode & 0o077 == 0


def test_only_some_rows_are_in_memory_at_a_time(used, tmp_path, monkeypatch):
    asked = []
    put = restores.put_lines

    def counted(model, lines, alias):
        assert iter(lines) is lines, "a generator, not a list"
        asked.append(model)
        put(model, lines, alias)

    make_backup(tmp_path / "kept.tar", "used")
    monkeypatch.setattr(restores, "put_lines", counted)
    with known_as("fresh", f"sqlite:///{tmp_path}/new/rainthrough.sqlite3"):
        restore_backup(tmp_path / "kept.tar", alias="fresh", replace=True)

    assert len(asked) == len(stored_models())


def test_a_backup_is_never_written_over(used, archive):
    before = archive.read_bytes()

    with pytest.raises(NotAllowedNowError, match=r"is there already\. Give another name"):
        make_backup(archive, "used")

    assert archive.read_bytes() == before


def test_a_folder_that_is_not_there_is_named(used, tmp_path):
    with pytest.raises(NotAllowedNowError, match="mistyped is no folder"):
        make_backup(tmp_path / "mistyped" / "kept.tar", "used")


def test_a_backup_that_cannot_be_read_back_takes_no_name(used, tmp_path, monkeypatch):
    def break_it(archive):
        raise BackupBrokenError("files/x is missing in the backup.")

    monkeypatch.setattr(backups, "check_backup", break_it)

    with pytest.raises(BackupBrokenError, match="files/x is missing"):
        make_backup(tmp_path / "mine.tar", "used")

    assert [path.name for path in tmp_path.iterdir()] == ["used"]


def test_a_file_that_is_erased_meanwhile_is_left_out(used, tmp_path, monkeypatch):
    gone = used / "files" / "gone"
    found = backups._sent_files
    monkeypatch.setattr(backups, "_sent_files", lambda: [("files/gone", gone), *found()])

    make_backup(tmp_path / "mine.tar", "used")

    assert "files/gone" not in contents_of(tmp_path / "mine.tar")
    assert "files/sent/ab/abcdef" in contents_of(tmp_path / "mine.tar")


def test_a_database_of_another_edition_is_not_backed_up_by_this_one(used, tmp_path, monkeypatch):
    monkeypatch.setattr(backups, "migrations_of_this_edition", lambda: {"planning.0002_crews"})

    with pytest.raises(NotAllowedNowError, match=r"lacks 1 migrations, such as planning\.0002_crews"):
        make_backup(tmp_path / "mine.tar", "used")

    assert not (tmp_path / "mine.tar").exists()


def test_nothing_is_restored_over_data_that_are_there(used, archive):
    before = every_line("used")

    with pytest.raises(NotAllowedNowError, match=r"is there already\. Move it away, or give --replace"):
        restore_backup(archive, alias="used")

    assert every_line("used") == before


def test_files_alone_are_in_the_way_too(archive, fresh):
    (fresh / "files").mkdir(parents=True)
    (fresh / "files" / "theirs").write_bytes(b"theirs")

    with pytest.raises(NotAllowedNowError, match=r"files is there already"):
        restore_backup(archive, alias="fresh")


def test_what_is_replaced_is_kept_beside(used, archive):
    with connections["used"].cursor() as cursor:
        cursor.execute(LATE)
    restore_backup(archive, alias="used", replace=True)

    assert '"of":"late"' not in str(every_line("used"))
    (older,) = used.glob("rainthrough.sqlite3.before-*")
    with known_as("older", f"sqlite:///{older}"):
        assert '"of":"late"' in str(every_line("older"))
    assert len(list(used.glob("files.before-*"))) == len(list(used.glob("secret-key.before-*"))) == 1


def test_a_postgresql_with_rows_is_refused_and_keeps_them(archive, on_server, tmp_path, home):
    home(tmp_path / "one")
    restore_backup(archive, alias=on_server)
    before = every_line(on_server)
    home(tmp_path / "two")

    with pytest.raises(NotAllowedNowError, match="holds rows already, such as of accounts_"):
        restore_backup(archive, alias=on_server)

    assert every_line(on_server) == before
    assert not (tmp_path / "two").exists()


def rows_changed(change):
    """Change the lines of the surfaces, with the checksum and, where asked, the count."""

    def changed(contents):
        lines = gzip.decompress(contents[SURFACES]).decode().splitlines(keepends=True)
        replaced(contents, SURFACES, gzip.compress("".join(change(lines)).encode()))

    return changed


def one_byte_of_a_row_changed(contents):
    """Without its checksum, as a broken disk does."""
    text = gzip.decompress(contents[SURFACES])
    contents[SURFACES] = gzip.compress(text.replace(b'"area_m2":', b'"area_m3":', 1))


def one_byte_changed(contents):
    contents["files/sent/ab/abcdef"] = b"a phoXo"


def one_file_lost(contents):
    del contents["files/sent/ab/abcdef"]


def one_table_lost(contents):
    del contents[SURFACES]


def one_table_not_listed(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    listed(contents, entries=[one for one in entries if one["name"] != SURFACES])


def no_list(contents):
    del contents["manifest.json"]


def file_outside_the_folder(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    content = contents["files/../../evil"] = b"evil"
    entry = {"name": "files/../../evil", "size_bytes": 4, "sha256": hashlib.sha256(content).hexdigest()}
    listed(contents, entries=[*entries, entry])


def listed_twice(contents):
    entries = json.loads(contents["manifest.json"])["entries"]
    listed(contents, entries=[*entries, entries[-1]])


def with_list(text):
    def changed(contents):
        contents["manifest.json"] = text

    return changed


BROKEN = {
    "a row changed": (one_byte_of_a_row_changed, "qa_surface.jsonl.gz is not what was backed up"),
    "a row missing": (rows_changed(lambda lines: lines[1:]), "rows of qa_surface, and holds"),
    "a row added": (rows_changed(lambda lines: [*lines, lines[0]]), "rows of qa_surface, and holds"),
    "a row of nonsense": (rows_changed(lambda lines: ["{]\n", *lines[1:]]), "Row 1 of qa_surface"),
    "a row without a column": (rows_changed(lambda lines: ["{}\n", *lines[1:]]), "Row 1 of qa_surface"),
    "a row written otherwise": (rows_changed(lambda lines: [" " + line for line in lines]), "Row 1 of"),
    "no gzip": (lambda contents: replaced(contents, SURFACES, b"plain"), "is no whole backup"),
    "a file changed": (one_byte_changed, "files/sent/ab/abcdef is not what was backed up"),
    "a file lost": (one_file_lost, "files/sent/ab/abcdef is missing in the backup"),
    "a table lost": (one_table_lost, "qa_surface.jsonl.gz is missing in the backup"),
    "a table not listed": (one_table_not_listed, "lists other tables than"),
    "no list": (no_list, "no readable list of what is in it"),
    "a list of nonsense": (with_list(b"not json"), "no readable list of what is in it"),
    "a list that is none": (with_list(b"[]"), "no readable list of what is in it"),
    "a list without tables": (with_list(b'{"format": 2}'), "no readable list of what is in it"),
    "a newer format": (lambda contents: listed(contents, format=99), "has format 99; this edition reads 2"),
    "a strange place": (file_outside_the_folder, "which no backup of this program has"),
    "a name twice": (listed_twice, "lists a file twice"),
}


@pytest.mark.parametrize(("change", "said"), BROKEN.values(), ids=BROKEN)
def test_a_backup_that_is_not_whole_is_refused_and_nothing_is_written(archive, fresh, tmp_path, change, said):
    broken = rewritten(archive, tmp_path / "broken.tar", change)

    with pytest.raises(BackupBrokenError, match=re.escape(said)):
        restore_backup(broken, alias="fresh")

    assert not fresh.exists()
    assert not (tmp_path / "evil").exists()


def no_firms(contents):
    """As if the table had been empty: every checksum and count is right, and keys point nowhere."""
    replaced(contents, FIRMS, gzip.compress(b""))
    tables = json.loads(contents["manifest.json"])["tables"]
    for table in tables:
        if table["name"] == "accounts_organisation":
            table["rows"] = 0
    listed(contents, tables=tables)


def nonsense_for_a_number(contents):
    lines = gzip.decompress(contents[FIRMS]).decode().splitlines()
    row = json.loads(lines[0])
    lines[0] = json.dumps(row | {"name": None}, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    replaced(contents, FIRMS, gzip.compress(("\n".join(lines) + "\n").encode()))


@pytest.mark.parametrize("kind", ["fresh", "on_server"])
@pytest.mark.parametrize(
    ("change", "said"),
    [(no_firms, "points at one that is not in it"), (nonsense_for_a_number, "could not be stored")],
)
def test_rows_that_the_database_refuses_leave_nothing(request, archive, fresh, tmp_path, change, said, kind):
    alias = "fresh" if kind == "fresh" else request.getfixturevalue(kind)
    broken = rewritten(archive, tmp_path / "broken.tar", change)

    with pytest.raises(BackupBrokenError, match=said):
        restore_backup(broken, alias=alias)

    assert list(fresh.iterdir()) == []
    if kind == "on_server":
        assert not Organisation.objects.using(alias).exists()
        restore_backup(archive, alias=alias)  # it is as empty as before


@pytest.mark.parametrize("kind", ["fresh", "on_server"])
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE qa_surface SET area_m2 = area_m2 + 0.001",
        "DELETE FROM operations_sign",
        "INSERT INTO operations_sign (of, seen_at) VALUES ('zz', '2026-01-01 00:00:00+00:00')",
    ],
)
def test_every_row_is_read_back_before_anything_takes_its_place(
    request, used, tmp_path, fresh, monkeypatch, statement, kind
):
    """Something changes, loses or adds a row while rows are stored: the control of the reading back."""
    alias = "fresh" if kind == "fresh" else request.getfixturevalue(kind)
    with connections["used"].cursor() as cursor:
        cursor.execute(LATE)
    make_backup(tmp_path / "more.tar", "used")
    settle = restores.settle_keys

    def meddle(there):
        with connections[there].cursor() as cursor:
            cursor.execute(statement)
        settle(there)

    monkeypatch.setattr(restores, "settle_keys", meddle)

    with pytest.raises(BackupBrokenError, match=r"Row \d+ of \w+ is not in the database as it is"):
        restore_backup(tmp_path / "more.tar", alias=alias)

    assert list(fresh.iterdir()) == []


def test_what_fails_while_things_take_their_place_is_taken_back(archive, fresh, on_server, monkeypatch):
    move, moved = restores.shutil.move, []

    def breaks(source, target):
        if moved:
            raise OSError("No space left on device")
        moved.append(target)
        return move(source, target)

    monkeypatch.setattr(restores, "_move", lambda s, t, undoing: (breaks(s, t), undoing.callback(move, t, s)))

    with pytest.raises(OSError, match="No space"):
        restore_backup(archive, alias=on_server)

    assert moved
    assert not Organisation.objects.using(on_server).exists()
    assert list((fresh / "files").iterdir()) == []


def other_migrations(contents):
    listed(contents, migrations=["planning.0002_crews"])


def other_columns(contents):
    tables = json.loads(contents["manifest.json"])["tables"]
    tables[0]["columns"] = []
    tables[0]["rows"] = 0
    replaced(contents, f"rows/{tables[0]['name']}.jsonl.gz", gzip.compress(b""))
    listed(contents, tables=tables)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (other_migrations, r"other migrations: planning\.0002_crews"),
        (other_columns, r"other tables or columns: account_emailaddress\."),
    ],
)
def test_a_backup_of_another_edition_is_refused(archive, fresh, tmp_path, change, said):
    other = rewritten(archive, tmp_path / "other.tar", change)

    with pytest.raises(NotAllowedNowError, match=said):
        restore_backup(other, alias="fresh")

    assert not fresh.exists()


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


def test_checking_alone_touches_nothing(archive, fresh, capsys):
    call_command("restore", str(archive), "--check")

    assert re.match(r"Whole: \d+ rows and \d+ files of .*, from sqlite\.", capsys.readouterr().out)
    assert not fresh.exists()


def test_when_it_was_made_is_noted_where_it_can_be(used, tmp_path, monkeypatch):
    def full(of):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(signs, "note", full)

    make_backup(tmp_path / "mine.tar", "used")

    assert check_backup(tmp_path / "mine.tar").rows > 200


class TestCommands:
    """In processes of their own, as people run them, with migrations."""

    def manage(self, data_dir, *arguments):
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

    def test_a_backup_goes_out_and_comes_back(self, used, tmp_path):
        fresh = tmp_path / "fresh"

        made = self.manage(used, "backup", tmp_path / "kept.tar")
        done = self.manage(fresh, "restore", tmp_path / "kept.tar")
        again = self.manage(fresh, "restore", tmp_path / "kept.tar")

        assert made.returncode == 0, made.stderr
        assert "written and read back" in made.stdout
        assert done.returncode == 0, done.stderr
        assert "read back row by row" in done.stdout
        assert again.stderr.startswith("CommandError: ")
        assert "is there already" in again.stderr
        with known_as("fresh", f"sqlite:///{fresh}/rainthrough.sqlite3"):
            came, was = every_line("fresh"), every_line("used")
        assert came | {"operations_sign": []} == was | {"operations_sign": []}, "that notes the backup itself"

    def test_words_for_who_asks_amiss(self, used, archive):
        with pytest.raises(CommandError, match="is there already"):
            call_command("backup", str(archive))
        with pytest.raises(CommandError, match=r"is no whole backup|no readable list"):
            call_command("restore", str(used / "rainthrough.sqlite3"), "--check")
