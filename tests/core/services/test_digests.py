"""Sums of files, read piece by piece and copied on the way."""

import hashlib
from io import BytesIO

import pytest

from core.services import digests


@pytest.mark.parametrize("size", [0, 1, 7, 8, 9, 1000])
def test_sum_size_and_copy_are_those_of_the_whole(monkeypatch, size):
    monkeypatch.setattr(digests, "PIECE", 8)
    content, copy = bytes(number % 251 for number in range(size)), BytesIO()

    found = digests.digest_of(BytesIO(content), copy)

    assert found == (hashlib.sha256(content).hexdigest(), size)
    assert copy.getvalue() == content


def test_what_was_read_before_is_left_out():
    file = BytesIO(b"head and rest")
    file.read(5)

    assert digests.digest_of(file)[1] == len(b"and rest")
