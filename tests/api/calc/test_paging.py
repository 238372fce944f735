"""Places in lists, as they stand in an address."""

from datetime import UTC, datetime, timedelta, timezone
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.calc.paging import Cursor
from core.errors import UnusableRecordError

ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
INSTANTS = st.datetimes(datetime(1990, 1, 1), datetime(2200, 1, 1), timezones=ZONES)  # noqa: DTZ001


@given(INSTANTS, st.uuids())
def test_a_place_is_read_as_it_was_written(at, key):
    assert Cursor.read(str(Cursor(at, key))) == Cursor(at, key)


@given(INSTANTS, st.uuids())
def test_it_holds_nothing_that_an_address_has_to_escape(at, key):
    assert str(Cursor(at, key)).replace("=", "").replace("-", "").replace("_", "").isalnum()


@given(st.text(max_size=120))
def test_anything_else_is_refused_in_words(text):
    with pytest.raises(UnusableRecordError, match="is no cursor of ours"):
        Cursor.read(text)


def test_a_time_without_a_zone_is_no_place():
    naive = Cursor(datetime(2026, 6, 1, tzinfo=UTC).replace(tzinfo=None), uuid4())

    with pytest.raises(UnusableRecordError, match="begin without a cursor"):
        Cursor.read(str(naive))
