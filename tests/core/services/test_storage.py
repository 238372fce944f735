"""Files on the disk: whole or not at all; and a full disk is told by whoever notices it."""

import errno
import sqlite3

import pytest
from django.core.files.base import ContentFile
from django.db import DatabaseError, OperationalError
from hypothesis import given
from hypothesis import strategies as st

from core.services.storage import WholeFileStorage, is_full

FULL = OSError(errno.ENOSPC, "No space left on device")


class Failing(ContentFile):
    """A file whose second piece cannot be read or written any more."""

    def chunks(self, chunk_size=None):
        yield b"the first piece"
        raise FULL


@pytest.fixture
def storage(tmp_path):
    return WholeFileStorage(location=tmp_path)


def names(storage):
    folders, files = storage.listdir("")
    return {*files, *(f"{folder}/{name}" for folder in folders for name in storage.listdir(folder)[1])}


def test_a_file_is_kept_as_it_came(storage):
    name = storage.save("sent/a.txt", ContentFile(b"whole"))

    assert storage.open(name).read() == b"whole"


def test_half_a_file_is_not_left_behind(storage):
    with pytest.raises(OSError, match="No space"):
        storage.save("sent/a.txt", Failing(b"x"))

    assert names(storage) == set()


def test_a_failure_takes_no_other_file_with_it(storage):
    storage.save("sent/a.txt", ContentFile(b"the first"))

    with pytest.raises(OSError, match="No space"):
        storage.save("sent/a.txt", Failing(b"x"))

    assert names(storage) == {"sent/a.txt"}
    assert storage.open("sent/a.txt").read() == b"the first"


def test_after_a_failure_the_same_can_be_stored(storage):
    with pytest.raises(OSError, match="No space"):
        storage.save("a.txt", Failing(b"x"))

    assert storage.save("a.txt", ContentFile(b"again")) == "a.txt"


# ---- a full disk ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "full"),
    [
        (FULL, True),
        (OSError(errno.EDQUOT, "Disk quota exceeded"), True),
        (OSError(errno.EACCES, "Permission denied"), False),
        (OSError("no space left on device"), False),  # an OSError says it by its number
        (sqlite3.OperationalError("database or disk is full"), True),
        (OperationalError("Database or disk is FULL"), True),
        (DatabaseError('could not extend file "base/1": No space left on device'), True),
        (DatabaseError("disk I/O error"), False),
        (ValueError("full"), False),
        (None, False),
    ],
    ids=str,
)
def test_a_full_disk_is_known_by_number_or_word(error, full):
    assert is_full(error) is full


@given(st.integers(0, 12), st.booleans())
def test_however_deep_it_lies_beneath_other_errors(depth, on_purpose):
    error = FULL
    for _ in range(depth):
        above = RuntimeError("It failed.")
        if on_purpose:
            above.__cause__ = error
        else:
            above.__context__ = error
        error = above

    assert is_full(error)


def test_errors_that_go_round_in_a_circle_come_to_an_end():
    one, other = RuntimeError("one"), RuntimeError("other")
    one.__context__, other.__context__ = other, one

    assert not is_full(one)
