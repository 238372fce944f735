"""Advice that an earlier edition stored, and what is worked out with it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod
from core.errors import UnreadablePayloadError
from maintenance.calc.actions import Option
from maintenance.calc.advice_payload import Grounds
from tests.maintenance.calc.test_payloads import OPTIONS

OPTION = Option(CleaningMethod.VACUUM, 1200.0, 0.8, 0.7, Decimal("450.00"), Decimal("120.00"))
ADDED = {"saves", "is_agreed", "wants_word"}


def first_schema(grounds):
    """What an edition of the first schema stored of it."""
    stored = grounds.to_json()
    return {key: value for key, value in stored.items() if key not in ADDED} | {"schema": 1}


@given(
    version=st.integers(1, 10**6),
    reasons=st.lists(st.text(), max_size=3).map(tuple),
    option=st.none() | OPTIONS,
)
def test_advice_of_the_first_schema_is_read_whole(version, reasons, option):
    grounds = Grounds(version, reasons, option)

    assert Grounds.from_json(first_schema(grounds)) == grounds


def test_advice_of_the_first_schema_is_neither_agreed_nor_priced_nor_for_a_person():
    read = Grounds.from_json({"schema": 1, "record_version": 3, "reasons": ["It rained."]})

    assert read == Grounds(3, ("It rained.",))
    assert (read.saves, read.is_agreed, read.wants_word, read.expected) == (None, False, False, None)


def test_what_is_read_of_the_first_schema_is_stored_anew_in_the_second():
    read = Grounds.from_json(first_schema(Grounds(3, ("It rained.",), OPTION)))

    stored = read.to_json()

    assert stored["schema"] == 2
    assert set(stored) >= ADDED
    assert Grounds.from_json(stored) == read


def test_reading_the_first_schema_leaves_the_stored_row_as_it_was():
    stored = first_schema(Grounds(3, ("It rained.",), OPTION))
    before = dict(stored)

    Grounds.from_json(stored)

    assert stored == before


@pytest.mark.parametrize(
    "stored",
    [
        {"schema": 0, "record_version": 1, "reasons": []},
        {"schema": 3, "record_version": 1, "reasons": []},
        {"schema": None, "record_version": 1, "reasons": []},
        {"record_version": 1, "reasons": []},
        {"schema": 1, "reasons": []},
        {"schema": 1, "record_version": "1", "reasons": []},
        {"schema": 1, "record_version": 1, "reasons": "Because."},
        {"schema": 1, "record_version": 1, "reasons": [], "why": "Because."},
        {"schema": 2, "record_version": 1, "reasons": [], "saves": "dear"},
        {"schema": 2, "record_version": 1, "reasons": [], "wants_word": 1},
        [],
        "Because.",
    ],
)
def test_what_no_edition_stored_so_is_refused_and_read_as_nothing(stored):
    with pytest.raises(UnreadablePayloadError):
        Grounds.from_json(stored)
    assert Grounds.read(stored) is None


@given(saves=st.none() | st.decimals(-(10**6), 10**6, places=2), agreed=st.booleans(), word=st.booleans())
def test_the_second_schema_keeps_the_saving_to_the_cent_and_both_marks(saves, agreed, word):
    grounds = Grounds(1, ("Because.",), None, saves, agreed, word)

    read = Grounds.from_json(grounds.to_json())

    assert read == grounds
    assert str(read.saves) == str(saves)
