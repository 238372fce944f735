"""Paths that name a row by the entry that is to store it: `/rounds/{entry:<uuid>}/tests/new/`."""

import re
from collections.abc import Mapping
from uuid import UUID

_PLACEHOLDER = re.compile(r"\{entry:([0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})\}")


def entries_named(path: str) -> frozenset[UUID]:
    """The entries whose rows a path names."""
    return frozenset(UUID(one) for one in _PLACEHOLDER.findall(path))


def with_rows(path: str, rows: Mapping[UUID, str]) -> str:
    """The path with the id of its row in place of each entry. Raises KeyError for an entry that `rows` has not."""
    return _PLACEHOLDER.sub(lambda found: rows[UUID(found[1])], path)
