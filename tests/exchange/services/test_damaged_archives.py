"""An archive that is broken, changed or made up is refused in words, and nothing of it stays."""

import json
import random
import zipfile
from io import BytesIO

import pytest
from django.core.files.storage import default_storage

from accounts.models import Organisation, Owner, User
from core.errors import UnusableRecordError
from core.services import digests
from exchange.selectors.tables import all_tables, stored_tables
from exchange.services import archive_opening
from exchange.services.restoring import restore
from qa.models import Site
from tests.exchange.archives import (
    archive_of,
    empty_firm,
    packed,
    parts_of,
    sealed,
    table,
    with_cells,
    written_table,
)

ELSEWHERE = "11111111-2222-4333-8444-555555555555"


@pytest.fixture
def firm(furnished):
    return furnished


@pytest.fixture(scope="module")
def written():
    """The archive of the module's firm, which every test finds as new: it is written once."""
    return {}


@pytest.fixture
def content(firm, written):
    if not written:
        written["content"] = archive_of(firm.organisation).getvalue()
    return written["content"]


@pytest.fixture
def parts(content):
    return parts_of(BytesIO(content))


def stored_files():
    found, folders = set(), ["sent"]
    while folders:
        folder = folders.pop()
        if default_storage.exists(folder):
            inner, files = default_storage.listdir(folder)
            folders += [f"{folder}/{name}" for name in inner]
            found |= {f"{folder}/{name}" for name in files}
    return found


def refused(archive, target=None):
    """The words of a refusal, after a look that it left nothing behind: no row, no person, no file."""
    target = target or empty_firm()
    name, people, files = target.name, User.objects.count(), stored_files()
    before = {s.table.name: s.rows(target).count() for s in stored_tables()}
    with pytest.raises(UnusableRecordError) as raised:
        restore(organisation=target, content=archive)
    assert {s.table.name: s.rows(target).count() for s in stored_tables()} == before
    assert Organisation.objects.get(pk=target.pk).name == name
    assert User.objects.count() == people
    assert stored_files() == files
    return str(raised.value)


def test_what_is_packed_anew_without_a_change_is_taken(parts):
    target = empty_firm()

    restore(organisation=target, content=sealed(parts))

    assert Site.objects.of_organisation(target).exists()


def test_a_table_that_is_not_as_it_was_packed_is_named(parts):
    said = refused(packed(with_cells(parts, "owner", name="Somebody else")))

    assert "csv/owner.csv is not as it was packed" in said
    assert "Nothing is stored" in said
    assert "as it was downloaded" in said


@pytest.mark.parametrize("name", ["csv/site.csv", "csv/person.csv", "csv/test_round_history.csv"])
def test_a_table_that_is_missing_is_named(parts, name):
    assert f"{name} is missing" in refused(sealed({k: v for k, v in parts.items() if k != name}))


def test_a_table_that_this_edition_has_not_is_named(parts):
    manifest = json.loads(parts["manifest.json"])
    manifest["tables"]["wage"] = {"rows": 0, "sha256": ""}

    assert "wage is no table" in refused(packed({**parts, "manifest.json": json.dumps(manifest)}))


@pytest.mark.parametrize("tables", [None, [], "all", {}])
def test_a_manifest_without_tables_is_refused(parts, tables):
    manifest = json.loads(parts["manifest.json"]) | {"tables": tables}

    assert "broken" in refused(packed({**parts, "manifest.json": json.dumps(manifest)}))


@pytest.mark.parametrize("name", ["owner", "person", "infiltration_test"])
def test_a_column_more_or_less_is_refused_and_named(parts, name):
    header, lines = table(parts[f"csv/{name}.csv"])
    more = written_table([*header, "wage"], [[*line, "1"] for line in lines])
    less = written_table(header[:-1], [line[:-1] for line in lines])

    assert "wage" in refused(sealed({**parts, f"csv/{name}.csv": more}))
    assert header[-1] in refused(sealed({**parts, f"csv/{name}.csv": less}))


def test_columns_may_stand_in_another_order(parts):
    header, lines = table(parts["csv/owner.csv"])
    turned = written_table(header[::-1], [line[::-1] for line in lines])
    target = empty_firm()

    restore(organisation=target, content=sealed({**parts, "csv/owner.csv": turned}))

    assert {o.name for o in Owner.objects.of_organisation(target)} == {
        line[header.index("name")] for line in lines
    }


def test_a_line_that_is_too_long_is_named(parts):
    header, lines = table(parts["csv/owner.csv"])
    said = refused(sealed({**parts, "csv/owner.csv": written_table(header, [[*lines[0], "more"]])}))

    assert "csv/owner.csv, line 2" in said


@pytest.mark.parametrize(
    ("name", "cells", "said"),
    [
        ("site", {"owner_id": ELSEWHERE}, "csv/site.csv, line 2: owner_id leads to no row"),
        ("site", {"owner_id": ""}, "owner_id is missing"),
        ("site", {"owner_id": "elsewhere"}, "'elsewhere' is no id"),
        ("site", {"organisation_id": ELSEWHERE}, "organisation_id leads to no row"),
        ("site", {"time_zone": "Nowhere/Atlantis"}, "not a known time zone"),
        ("site", {"latitude_deg": "91"}, "csv/site.csv, line 2"),
        ("site", {"latitude_deg": "north"}, "'north' in latitude_deg"),
        ("site", {"latitude_deg": "nan"}, "'nan' in latitude_deg"),
        ("site", {"created_at": "2025-01-02T03:04:05"}, "created_at"),
        ("site", {"created_at": ""}, "created_at is missing"),
        ("site", {"address": "\u2400"}, "address is missing"),
        ("site", {"access_note": "a\x00b"}, "in access_note"),
        ("surface", {"area_m2": "inf"}, "'inf' in area_m2"),
        ("surface", {"area_m2": "-5"}, "csv/surface.csv, line 2"),
        ("surface", {"surface_type": "tarmac"}, "csv/surface.csv, line 2"),
        ("surface", {"opened_on": "31/12/2020"}, "'31/12/2020' in opened_on"),
        ("surface", {"trees": "maybe"}, "'maybe' in trees"),
        ("organisation", {"currency": "XXXXX"}, "csv/organisation.csv, line 2"),
        ("test_round", {"recorded_by_id": "99999999"}, "there is no person"),
        ("test_round", {"recorded_by_id": "-1"}, "there is no person"),
        ("test_round", {"state": "forgotten"}, "csv/test_round.csv, line 2"),
        ("infiltration_test", {"readings_json": "{"}, "in readings_json"),
        ("infiltration_test", {"readings_json": "[" * 100_000}, "in readings_json"),
        ("infiltration_test", {"readings_json": '{"schema":99}'}, "csv/infiltration_test.csv, line 2"),
        ("person", {"id": "one"}, "there is no person 'one'"),
    ],
)  # fmt: skip
def test_a_cell_that_no_form_would_have_taken_is_refused_by_table_and_line(parts, name, cells, said):
    assert said in refused(sealed(with_cells(parts, name, **cells)))


def test_two_rows_with_one_id_are_refused(parts):
    header, lines = table(parts["csv/owner.csv"])
    twice = written_table(header, [*lines, lines[0]])

    assert "two rows with one id" in refused(sealed({**parts, "csv/owner.csv": twice}))


def test_two_rows_that_one_firm_cannot_have_are_refused(parts):
    header, lines = table(parts["csv/owner.csv"])
    other = list(lines[0])
    other[header.index("id")], other[header.index("device_id")] = ELSEWHERE, ""
    twice = written_table(header, [*lines, other])

    assert "do not fit together" in refused(sealed({**parts, "csv/owner.csv": twice}))


@pytest.mark.parametrize("count", [0, 2])
def test_an_archive_of_no_firm_or_of_two_is_refused(parts, count):
    header, lines = table(parts["csv/organisation.csv"])
    more = list(lines[0])
    more[header.index("id")] = ELSEWHERE
    content = written_table(header, [lines[0], more][:count])

    assert "does not hold one firm" in refused(sealed({**parts, "csv/organisation.csv": content}))


def test_a_number_that_no_column_holds_is_refused_in_earlier_versions_too(parts):
    said = refused(
        sealed(with_cells(parts, "organisation_history", history_type="~" * 400, currency="\u2400"))
    )

    assert "currency is missing" in said


# ---- files -------------------------------------------------------------------------------------------


def first_file(parts):
    return next(name for name in parts if name.startswith("files/"))


def test_a_file_that_is_missing_is_named(parts):
    name = first_file(parts)

    assert f"{name} is missing" in refused(packed({k: v for k, v in parts.items() if k != name}))


def test_a_file_that_is_not_as_it_was_packed_is_named(parts):
    name = first_file(parts)

    assert f"{name} is not as it was packed" in refused(packed({**parts, name: parts[name] + b"x"}))


@pytest.mark.parametrize(
    "path", ["../../../etc/passwd", "/etc/passwd", "files/../../x", "sent/aa/of-another-firm"]
)
def test_a_file_is_kept_under_a_name_of_our_own_whatever_it_is_called(firm, parts, path):
    """Neither outside the storage, nor in the place of a file that is there, nor as one of another firm."""
    held = stored_files()
    name = first_file(parts)
    moved = {
        key: content.replace(name.encode(), path.encode())
        if key.endswith((".csv", "manifest.json"))
        else content
        for key, content in parts.items()
        if key != name
    }
    target = empty_firm()

    restored = restore(organisation=target, content=sealed({**moved, path: parts[name]}))

    names = {kept for _, kept in restored.files}
    assert stored_files() - held == names
    assert all(kept.startswith("sent/") and ".." not in kept for kept in names)


@pytest.mark.parametrize("path", ["../../../etc/passwd", "sent/aa/of-another-firm"])
def test_a_file_that_was_missing_leads_to_no_file_of_another(parts, path):
    manifest, name = json.loads(parts["manifest.json"]), first_file(parts)
    entry = next(one for one in manifest["files"] if one["path"] == name)
    for key in ("sha256", "size"):
        del entry[key]
    entry |= {"path": path, "missing": True}
    changed = {
        key: c.replace(name.encode(), path.encode()) for key, c in parts.items() if key.endswith(".csv")
    }
    target = empty_firm()
    made = {**parts, **changed, "manifest.json": json.dumps(manifest)}

    restored = restore(organisation=target, content=sealed({k: v for k, v in made.items() if k != name}))

    column = {s.table.name: s.model for s in stored_tables()}[entry["table"]]
    rows = [row for row in restored.made if isinstance(row, column)]
    kept = {getattr(row, entry["column"]).name for row in rows}
    assert path not in kept
    assert all(one == "" or one.startswith("sent/") for one in kept)
    gone = [one for one in kept if one and not default_storage.exists(one)]
    assert len(gone) == 1
    assert "missing" in json.dumps(json.loads(parts_of(archive_of(target))["manifest.json"])["files"])


# ---- the zip itself ------------------------------------------------------------------------------------


def test_a_bomb_is_refused_before_it_is_unpacked(parts, monkeypatch):
    monkeypatch.setattr(archive_opening, "MOST_UNPACKED", 1024 * 1024)

    assert "unpacks to more" in refused(packed({**parts, "files/zeros": b"0" * 2 * 1024 * 1024}))


def test_a_manifest_without_end_is_not_read(parts, monkeypatch):
    monkeypatch.setattr(archive_opening, "LONGEST_MANIFEST", 10)

    assert "not an archive" in refused(packed(parts))


def test_files_are_read_piece_by_piece(parts, monkeypatch):
    """A file of gigabytes is never held as a whole."""
    asked = []
    plain = zipfile.ZipExtFile.read
    monkeypatch.setattr(
        zipfile.ZipExtFile, "read", lambda self, n=-1: (asked.append((self.name, n)), plain(self, n))[1]
    )

    restore(organisation=empty_firm(), content=sealed(parts))

    sizes = [size for name, size in asked if name.startswith("files/")]
    assert sizes
    assert all(0 < size <= digests.PIECE for size in sizes)


@pytest.mark.parametrize(
    "manifest",
    [b"", b"[]", b"null", b"{", b"\xff\xfe", b'{"format": "other"}', b"[" * 200_000, b'"text"', b"7"],
)
def test_a_manifest_of_something_else_is_refused(parts, manifest):
    assert "not an archive" in refused(packed({**parts, "manifest.json": manifest}))


@pytest.mark.parametrize("edition", [0, 2, 99, None, "1", [1]])
def test_another_edition_is_told_with_both_numbers(parts, edition):
    manifest = json.loads(parts["manifest.json"]) | {"edition": edition}

    said = refused(packed({**parts, "manifest.json": json.dumps(manifest)}))

    assert f"has the edition {edition}" in said
    assert "reads 1" in said


def test_an_archive_without_a_manifest_is_refused(parts):
    del parts["manifest.json"]

    assert "not an archive" in refused(packed(parts))


@pytest.mark.parametrize("seed", range(12))
def test_an_archive_with_bytes_turned_is_refused_or_comes_back_whole(content, seed):
    """Never half: a byte may lie where nothing depends on it, such as the time of a file within."""
    content = bytearray(content)
    chosen = random.Random(seed)
    for _ in range(20):
        content[chosen.randrange(len(content))] ^= chosen.randrange(1, 256)
    target = empty_firm()

    try:
        restored = restore(organisation=target, content=BytesIO(bytes(content)))
    except UnusableRecordError:
        assert not Owner.objects.of_organisation(target).exists()
    else:
        assert len(restored.made) > len(all_tables())


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999])
def test_an_archive_that_was_cut_is_refused(content, share):
    assert refused(BytesIO(content[: int(len(content) * share)]))
