"""What is stored as JSON: written and read by one class, whatever edition wrote it."""

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import ClassVar, NamedTuple
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.choices import TextChoice
from core.calc.payload import Payload, from_payload, from_text, to_payload
from core.errors import UnreadablePayloadError


class Colour(TextChoice):
    RED = "red", "Red"
    BLUE = "blue", "Blue"


@dataclass(frozen=True, slots=True)
class Part:
    weight_kg: float
    colour: Colour


@dataclass(frozen=True, slots=True)
class Thing(Payload):
    SCHEMA: ClassVar[int] = 3

    name: str
    on: date
    price: Decimal | None
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Grown(Payload):
    """Schema 1 had a length in cm as text, 2 as a number, 3 has it in mm."""

    SCHEMA: ClassVar[int] = 3
    UPGRADES: ClassVar = {
        1: lambda old: {"length_cm": float(old["length"])},
        2: lambda old: {"length_mm": old["length_cm"] * 10},
    }

    length_mm: float


PARTS = st.builds(Part, st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(Colour))
THINGS = st.builds(
    Thing,
    st.text(),
    st.dates(),
    st.none() | st.decimals(allow_nan=False, allow_infinity=False),
    st.lists(PARTS, max_size=4).map(tuple),
)
ONE = Thing("gate", date(2026, 6, 1), Decimal("12.50"), (Part(3.5, Colour.BLUE),))


@given(thing=THINGS)
def test_what_is_written_is_read_back_the_same(thing):
    assert Thing.from_json(json.loads(json.dumps(thing.to_json()))) == thing


def test_the_number_of_the_schema_stands_beside_the_fields():
    assert ONE.to_json()["schema"] == 3


def test_values_come_back_as_what_they_were():
    again = Thing.from_json(json.loads(json.dumps(ONE.to_json())))

    assert (again.on, str(again.price)) == (date(2026, 6, 1), "12.50")
    assert again.parts[0].colour is Colour.BLUE


@pytest.mark.parametrize("schema", [1, 2])
def test_an_older_schema_is_brought_up_step_by_step(schema):
    stored = {1: {"schema": 1, "length": "4.5"}, 2: {"schema": 2, "length_cm": 4.5}}[schema]

    assert Grown.from_json(stored) == Grown(45.0)


def test_what_is_stored_is_left_as_it_was_by_reading_it():
    stored = {"schema": 1, "length": "4.5"}

    Grown.from_json(stored)

    assert stored == {"schema": 1, "length": "4.5"}


def test_a_field_that_is_missing_takes_its_default():
    stored = {name: value for name, value in ONE.to_json().items() if name != "parts"}

    assert Thing.from_json(stored).parts == ()


UNREADABLE = {
    "another schema": ONE.to_json() | {"schema": 4},
    "an older schema without an upgrade": ONE.to_json() | {"schema": 2},
    "no schema": {name: value for name, value in ONE.to_json().items() if name != "schema"},
    "a field missing": {name: value for name, value in ONE.to_json().items() if name != "on"},
    "a number as text": ONE.to_json() | {"parts": [{"weight_kg": "3.5", "colour": "blue"}]},
    "an unknown choice": ONE.to_json() | {"parts": [{"weight_kg": 3.5, "colour": "green"}]},
    "a day that is none": ONE.to_json() | {"on": "2026-02-30"},
    "a field that is not known": ONE.to_json() | {"depth_mm": 4.0},
    "a field of a part that is not known": ONE.to_json()
    | {"parts": [{"weight_kg": 3.5, "colour": "blue", "age": 3}]},
    "a list": [1, 2],
    "text": "gate",
}


@pytest.mark.parametrize("stored", UNREADABLE.values(), ids=UNREADABLE)
def test_what_cannot_be_read_is_refused_and_reads_as_nothing(stored):
    with pytest.raises(UnreadablePayloadError, match="Thing"):
        Thing.from_json(stored)
    assert Thing.read(stored) is None


def test_an_upgrade_that_does_not_fit_is_refused_like_any_other():
    with pytest.raises(UnreadablePayloadError, match="Grown does not fit its schema: 'length'"):
        Grown.from_json({"schema": 1, "height": "4.5"})


def test_nothing_stored_reads_as_nothing():
    assert Thing.read(None) is None


def test_what_is_stored_in_good_order_is_read():
    assert Thing.read(ONE.to_json()) == ONE


class Span(NamedTuple):
    low: float
    high: float = 9.0


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text() | st.uuids() | st.dates(),
    lambda parts: st.lists(parts, max_size=3) | st.dictionaries(st.text(), parts, max_size=3),
)


@given(value=PLAIN)
def test_plain_data_are_what_json_gives_back(value):
    plain = to_payload(value)

    assert json.loads(json.dumps(plain)) == plain


@given(
    at=st.datetimes(timezones=st.just(UTC)),
    number=st.uuids(),
    span=st.builds(Span, st.floats(0, 1), st.floats(1, 9)),
)
def test_times_ids_and_named_tuples_are_read_as_they_were(at, number, span):
    kind = tuple[datetime, UUID, Span]

    assert from_payload(kind, to_payload((at, number, span))) == (at, number, span)


@pytest.mark.parametrize(
    ("kind", "stored", "place"),
    [
        (Part, {"weight_kg": "3", "colour": "red"}, r"\$.weight_kg"),
        (tuple[Part, ...], [{"weight_kg": 3, "colour": "red"}, {"weight_kg": 3}], r"\$\[1\]"),
        (tuple[float, float], [1.0], "length 2"),
        (date, "31.1.2026", "date"),
        (int, True, "int"),
        (bool, 1, "bool"),
    ],
)
def test_data_that_do_not_fit_are_refused_with_the_place(kind, stored, place):
    with pytest.raises(UnreadablePayloadError, match=place):
        from_payload(kind, stored)


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_a_number_that_json_has_not_is_refused(number):
    with pytest.raises(ValueError, match="JSON"):
        to_payload({"rate": number})


def test_what_has_no_plain_form_is_a_programmers_mistake():
    with pytest.raises(TypeError):
        to_payload(object())


@pytest.mark.parametrize("form", [str, str.encode])
def test_text_is_read_as_what_it_holds_and_passes_over_what_is_not_asked_for(form):
    text = json.dumps(to_payload(ONE) | {"of a later edition": [1, {"a": 2}]})

    assert from_text(Thing, form(text)) == ONE


@pytest.mark.parametrize(
    "text", ["", "{", '{"name": "gate"}', '{"weight_kg": "heavy", "colour": "red"}', "[]"]
)
def test_text_that_does_not_fit_is_refused(text):
    with pytest.raises(UnreadablePayloadError, match=r"cannot be read as .*Part"):
        from_text(Part, text)
