"""What a firm has goes out in an archive and comes back into an empty firm, equal row by row."""

import csv
import json
import zipfile
from collections import Counter
from io import BytesIO, StringIO

import pytest

from accounts.calc.roles import Role
from exchange.calc.tables import with_new_ids
from exchange.selectors.tables import columns_of, stored_tables
from exchange.services.archive import write_archive
from exchange.services.restoring import restore
from tests.exchange.sheets import example_sheets, taken_in
from tests.factories import MembershipFactory


@pytest.fixture
def firm(furnished):
    return furnished


def archive_of(organisation):
    made = BytesIO()
    write_archive(organisation=organisation, to=made)
    made.seek(0)
    return made


def empty_firm():
    return MembershipFactory(role=Role.ADMIN).organisation


def lines_of(archive, table):
    with zipfile.ZipFile(archive) as opened:
        return list(csv.DictReader(StringIO(opened.read(f"csv/{table}.csv").decode(), newline="")))


def entries_of(archive):
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read("manifest.json"))
    return {entry["path"]: entry.get("sha256", "missing") for entry in manifest["files"]}


def comparable(stored, line, archive, ids, people):
    """A line with the ids it has now, its people by name, its files by what they hold."""
    files, shown = entries_of(archive), {}
    for field in columns_of(stored.model):
        cell = line[field.attname]
        if field.name == "history_id" or (field.primary_key and cell.isdecimal()):
            continue
        if field.is_relation and field.related_model._meta.label == "accounts.User":
            cell = people.get(cell, cell)
        elif cell in files:
            cell = files[cell]
        shown[field.attname] = with_new_ids(cell, ids)
    return tuple(sorted(shown.items()))


def people_of(archive):
    return {
        line["id"]: line["full_name"] or line["email"].partition("@")[0]
        for line in lines_of(archive, "person")
    }


def differing(first, second, ids):
    """Rows of each table that are in one archive alone."""
    found = {}
    for stored in stored_tables():
        if not stored.table.comes_back:
            continue
        name = stored.table.name
        a = Counter(comparable(stored, line, first, ids, people_of(first)) for line in lines_of(first, name))
        b = Counter(
            comparable(stored, line, second, {}, people_of(second)) for line in lines_of(second, name)
        )
        if a != b:
            found[name] = [dict(row) for row in (a - b)][:1], [dict(row) for row in (b - a)][:1]
    return found


def test_a_firm_comes_back_equal_row_by_row(firm):
    taken_in(firm, *example_sheets())
    first, target = archive_of(firm.organisation), empty_firm()

    restored = restore(organisation=target, content=first)

    second = archive_of(target)
    assert differing(first, second, restored.ids) == {}
    counts = {s.table.name: len(lines_of(first, s.table.name)) for s in stored_tables() if s.table.comes_back}
    assert len(restored.made) == sum(counts.values())
    assert [name for name, count in counts.items() if not count] == []
