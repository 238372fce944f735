"""Marks of answers, and conditions on them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.calc.etags import etag_of, names

MARK = etag_of(b"some")


def test_the_same_content_has_the_same_mark_and_other_content_another():
    assert etag_of(b"some") == MARK != etag_of(b"same")
    assert MARK.startswith('"')
    assert MARK.endswith('"')


@given(st.binary(), st.binary())
def test_marks_tell_contents_apart(one, other):
    assert (etag_of(one) == etag_of(other)) == (one == other)


@pytest.mark.parametrize("field", [MARK, f" {MARK} ", f'"a", {MARK}', f'{MARK},"b"', "*", " * "])
def test_a_field_that_names_it_holds(field):
    assert names(field, MARK)
    assert names(field, MARK, weakly=True)


@pytest.mark.parametrize("field", ["", '"a"', MARK.strip('"'), '"*"', MARK[:-2] + '"', '"a" "b"'])
def test_any_other_does_not(field):
    assert not names(field, MARK)
    assert not names(field, MARK, weakly=True)


def test_a_weak_mark_holds_only_where_it_is_enough():
    """RFC 9110, 13.1.1: If-Match compares strongly; 13.1.2: If-None-Match weakly."""
    assert not names(f"W/{MARK}", MARK)
    assert names(f"W/{MARK}", MARK, weakly=True)


@given(st.text())
def test_no_field_makes_it_fail(field):
    assert names(field, MARK) in (True, False)
