"""Dataclasses to plain data and back."""

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import IntEnum, StrEnum
from typing import NamedTuple
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.payload import from_payload, to_payload
from core.errors import UnreadablePayloadError


class Colour(StrEnum):
    RED = "red"


class Size(IntEnum):
    BIG = 3


class Span(NamedTuple):
    low: float
    high: float = 9.0


@dataclass(frozen=True, slots=True)
class Leaf:
    name: str
    cost: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Tree:
    key: UUID
    on: date
    at: datetime
    height_m: float
    alive: bool
    rings: int
    colour: Colour
    size: Size
    span: Span
    place: tuple[float, float]
    leaves: tuple[Leaf, ...] = ()
    notes: list[str] | None = None
    by_year: dict[str, float] | None = None


leaves = st.builds(Leaf, st.text(), st.none() | st.decimals(allow_nan=False, allow_infinity=False, places=2))
numbers = st.floats(allow_nan=False, allow_infinity=False)
trees = st.builds(
    Tree,
    st.uuids(),
    st.dates(),
    st.datetimes(timezones=st.just(UTC)),
    numbers,
    st.booleans(),
    st.integers(),
    st.just(Colour.RED),
    st.just(Size.BIG),
    st.builds(Span, numbers, numbers),
    st.tuples(numbers, numbers),
    st.lists(leaves).map(tuple),
    st.none() | st.lists(st.text()),
    st.none() | st.dictionaries(st.text(), numbers),
)


@given(trees)
def test_what_is_written_reads_as_it_was_through_json(tree):
    stored = json.loads(json.dumps(to_payload(tree), allow_nan=False))

    assert from_payload(Tree, stored) == tree


def test_a_whole_number_in_place_of_a_broken_one_is_read_as_such():
    read = from_payload(Span, {"low": 3, "high": 4.5})

    assert isinstance(read.low, float)


def test_a_field_that_is_missing_takes_its_default():
    assert from_payload(Leaf, {"name": "oak"}) == Leaf("oak")
    assert from_payload(Span, {"low": 1.0}) == Span(1.0, 9.0)


@pytest.mark.parametrize(
    ("kind", "stored", "said"),
    [
        (Leaf, {"name": "oak", "age": 3}, "expected no age in Leaf"),
        (Leaf, {"cost": "1.00"}, "expected name in Leaf"),
        (Leaf, {"name": 3}, "at name: expected a str, got 3"),
        (Leaf, {"name": "oak", "cost": "cheap"}, "at cost: expected a Decimal, got 'cheap'"),
        (Leaf, ["oak"], "at the whole: expected a dict"),
        (tuple[Leaf, ...], [{"name": "oak"}, {"name": None}], "at [1].name: expected a str, got None"),
        (tuple[float, float], [1.0], "expected 2 values"),
        (dict[str, float], {"a": "b"}, "at a: expected a number, got 'b'"),
        (date, "31.1.2026", "expected a date"),
        (UUID, "x", "expected a UUID"),
        (Colour, "blue", "expected a Colour, got 'blue'"),
        (int, True, "expected a int, got True"),
        (bool, 1, "expected a bool, got 1"),
    ],
)
def test_data_that_do_not_fit_are_refused_with_the_place(kind, stored, said):
    with pytest.raises(UnreadablePayloadError) as refused:
        from_payload(kind, stored)

    assert said in str(refused.value)


@pytest.mark.parametrize("value", [object(), {1: "a"}, {"a", "b"}, Leaf])
def test_what_has_no_plain_form_is_a_programmers_mistake(value):
    with pytest.raises(TypeError):
        to_payload(value)


@pytest.mark.parametrize("kind", [int | str, set[int], object])
def test_a_type_that_plain_data_cannot_tell_is_a_programmers_mistake(kind):
    with pytest.raises(TypeError):
        from_payload(kind, [1])


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_a_number_that_json_has_not_is_refused(number):
    with pytest.raises(ValueError, match="JSON has no number"):
        to_payload({"rate": number})
