"""Archives for tests: written, looked into, and packed anew with something changed."""

import csv
import json
import zipfile
from hashlib import sha256
from io import BytesIO, StringIO

from accounts.calc.roles import Role
from exchange.services.archive import write_archive
from tests.factories import MembershipFactory


def archive_of(organisation):
    made = BytesIO()
    write_archive(organisation=organisation, to=made)
    made.seek(0)
    return made


def empty_firm():
    return MembershipFactory(role=Role.ADMIN).organisation


def parts_of(archive):
    with zipfile.ZipFile(archive) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def manifest_of(archive):
    return json.loads(parts_of(archive)["manifest.json"])


def table(content):
    """Header and lines of a table of an archive."""
    header, *lines = csv.reader(StringIO(content.decode(), newline=""))
    return header, lines


def lines_of(archive, name):
    content = parts_of(archive)[f"csv/{name}.csv"].decode()
    return list(csv.DictReader(StringIO(content, newline="")))


def written_table(header, lines):
    made = StringIO(newline="")
    csv.writer(made).writerows([header, *lines])
    return made.getvalue().encode()


def packed(parts):
    made = BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    made.seek(0)
    return made


def sealed(parts):
    """The parts packed with a manifest that has the digests they have now, as who makes archives up would."""
    manifest = json.loads(parts["manifest.json"])
    for name, entry in manifest["tables"].items():
        if f"csv/{name}.csv" in parts:
            entry["sha256"] = sha256(parts[f"csv/{name}.csv"]).hexdigest()
    for entry in manifest["files"]:
        if entry["path"] in parts and "sha256" in entry:
            entry["sha256"] = sha256(parts[entry["path"]]).hexdigest()
    return packed({**parts, "manifest.json": json.dumps(manifest)})


def with_cells(parts, name, /, **cells):
    """The parts with other cells in the first line of a table."""
    path = f"csv/{name}.csv"
    header, lines = table(parts[path])
    for column, cell in cells.items():
        lines[0][header.index(column)] = cell
    return {**parts, path: written_table(header, lines)}
