"""Paths that name a row by the entry that is to store it."""

from uuid import UUID

import pytest

from fieldwork.calc.placeholders import entries_named, with_rows

ONE, TWO = UUID("6f1d7c1e-3c52-4b0e-9d43-1f6a1f0f6b10"), UUID("6f1d7c1e-3c52-4b0e-9d43-1f6a1f0f6b11")


@pytest.mark.parametrize(
    ("path", "named", "filled"),
    [
        ("/rounds/1/", set(), "/rounds/1/"),
        (f"/rounds/{{entry:{ONE}}}/tests/new/?method=ring", {ONE}, "/rounds/a/tests/new/?method=ring"),
        (f"/rounds/{{entry:{str(ONE).upper()}}}/", {ONE}, "/rounds/a/"),
        (f"/{{entry:{ONE}}}/?finding={{entry:{TWO}}}", {ONE, TWO}, "/a/?finding=b"),
        (f"/{{entry:{ONE}}}/{{entry:{ONE}}}/", {ONE}, "/a/a/"),
        (f"/{{entry: {ONE}}}/", set(), f"/{{entry: {ONE}}}/"),
        ("/{entry:1}/", set(), "/{entry:1}/"),
        (f"/{ONE}/", set(), f"/{ONE}/"),
    ],
)
def test_entries_are_named_and_replaced(path, named, filled):
    assert entries_named(path) == named
    assert with_rows(path, {ONE: "a", TWO: "b"}) == filled


def test_an_entry_without_a_row_is_not_guessed():
    with pytest.raises(KeyError):
        with_rows(f"/{{entry:{ONE}}}/", {TWO: "b"})
