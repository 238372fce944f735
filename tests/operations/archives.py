"""Databases beside that of the tests, and backups taken apart and put together again."""

import hashlib
import io
import json
import tarfile
from contextlib import contextmanager

import environ
from django.db import connections
from django.db.utils import load_backend

from operations.services.table_rows import lines_of, stored_models


@contextmanager
def known_as(alias, url):
    """A database of its own, by a name that Django knows meanwhile."""
    given = connections.configure_settings({"default": environ.Env.db_url_config(url)})["default"]
    connections[alias] = load_backend(given["ENGINE"]).DatabaseWrapper(given, alias)
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]


def every_line(alias):
    """All rows of a database, by table."""
    return {model._meta.db_table: list(lines_of(model, alias)) for model in stored_models()}


def contents_of(archive):
    with tarfile.open(archive) as tar:
        return {member.name: tar.extractfile(member).read() for member in tar.getmembers()}


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


def listed(contents, **changes):
    """Change the list of what is in it."""
    contents["manifest.json"] = json.dumps(json.loads(contents["manifest.json"]) | changes).encode()


def replaced(contents, name, content):
    """Put something else under a name, and its checksum into the list: whoever did it knew how."""
    contents[name] = content
    entries = json.loads(contents["manifest.json"])["entries"]
    for entry in entries:
        if entry["name"] == name:
            entry["sha256"] = hashlib.sha256(content).hexdigest()
            entry["size_bytes"] = len(content)
    listed(contents, entries=entries)
