from datetime import UTC, date, datetime, time, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange.calc.csvw import metadata
from exchange.calc.tables import NOTHING, Kind, Table, TableColumn, read_back, ucum_of, with_new_ids, written

ONE = UUID("11111111-2222-4333-8444-555555555555")


@pytest.mark.parametrize(
    ("value", "kind", "cell"),
    [
        (None, Kind.TEXT, NOTHING),
        ("", Kind.TEXT, ""),
        ("=1+1", Kind.TEXT, "'=1+1"),
        ("'quoted", Kind.TEXT, "''quoted"),
        (NOTHING, Kind.TEXT, f"'{NOTHING}"),
        (None, Kind.NUMBER, ""),
        (-0.1, Kind.NUMBER, "-0.1"),
        (True, Kind.YES, "true"),
        (Decimal("1.50"), Kind.MONEY, "1.50"),
        (date(2025, 1, 2), Kind.DAY, "2025-01-02"),
        (time(7, 30), Kind.CLOCK, "07:30:00"),
        (datetime(2025, 1, 2, 3, 4, 5, 6, tzinfo=UTC), Kind.INSTANT, "2025-01-02T03:04:05.000006Z"),
        ({"ä": [1, None]}, Kind.DATA, '{"ä":[1,null]}'),
        (ONE, Kind.ID, str(ONE)),
    ],
)
def test_a_value_is_written_and_comes_back(value, kind, cell):
    assert written(value, kind) == cell
    assert read_back(cell, kind) == value


@given(st.none() | st.text(st.characters(exclude_characters="\x00", codec="utf-8")))
def test_every_text_comes_back_and_none_begins_like_a_formula(text):
    cell = written(text, Kind.TEXT)

    assert read_back(cell, Kind.TEXT) == text
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_comes_back_to_the_last_bit(number):
    assert read_back(written(number, Kind.NUMBER), Kind.NUMBER) == number


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("maybe", Kind.YES),
        ("True", Kind.YES),
        ("x", Kind.NUMBER),
        ("1e999", Kind.NUMBER),
        ("1", Kind.ID),
        ("{", Kind.DATA),
        ('{"a":NaN}', Kind.DATA),
        ('{"a":[-Infinity]}', Kind.DATA),
        ('{"a":1e999}', Kind.DATA),
        ("Infinity", Kind.MONEY),
        ("sNaN", Kind.MONEY),
        ("1e15", Kind.MONEY),
        ("1.5", Kind.WHOLE),
        ("07:30+02:00", Kind.CLOCK),
        ("07:30Z", Kind.CLOCK),
        ("2025-01-02", Kind.CLOCK),
        ("2025-01-02T03:04:05", Kind.INSTANT),
        ("2025-02-29", Kind.DAY),
        ("a\x00b", Kind.TEXT),
    ],
)
def test_what_is_no_such_value_is_refused(cell, kind):
    with pytest.raises((ValueError, ArithmeticError)):
        read_back(cell, kind)


FIXED = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
VALUES = {
    Kind.MONEY: st.decimals(-(10**11), 10**11, places=4),
    Kind.WHOLE: st.integers(-(2**63), 2**63 - 1),
    Kind.YES: st.booleans(),
    Kind.DAY: st.dates(),
    Kind.CLOCK: st.times(),
    Kind.INSTANT: st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1), timezones=FIXED),  # noqa: DTZ001
    Kind.ID: st.uuids(),
    Kind.DATA: st.recursive(
        st.none()
        | st.booleans()
        | st.integers()
        | st.floats(allow_nan=False, allow_infinity=False)
        | st.text(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
        max_leaves=8,
    ),
}


@pytest.mark.parametrize("kind", VALUES)
@given(data=st.data())
def test_every_value_of_every_kind_comes_back_as_it_was(kind, data):
    value = data.draw(VALUES[kind])

    assert read_back(written(value, kind), kind) == value
    assert read_back(written(None, kind), kind) is None


@given(VALUES[Kind.INSTANT])
def test_an_instant_is_written_in_utc_wherever_it_was_told(at):
    cell = written(at, Kind.INSTANT)

    assert cell.endswith("Z")
    assert read_back(cell, Kind.INSTANT).utcoffset() == timedelta(0)


def test_ids_are_new_wherever_they_stand():
    text = f'{{"a":"/s/{ONE}/","b":"99999999-2222-4333-8444-555555555555"}}'

    assert with_new_ids(text, {str(ONE): "new"}) == text.replace(str(ONE), "new")


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("limit_mm_h", "mm/h"),
        ("area_m2", "m2"),
        ("air_temperature_c", "Cel"),
        ("latitude_deg", "deg"),
        ("porosity", "1"),
        ("hours_since_rain", "h"),
        ("subgrade_slope_percent", "%"),
        ("sequence", ""),
    ],
)
def test_units_are_told_in_ucum(name, unit):
    assert ucum_of(name) == unit


def test_the_description_has_what_the_vocabulary_asks_for():
    table = Table("surface", "A surface.", (
        TableColumn("id", "Id", Kind.ID, True),
        TableColumn("site_id", "Site", Kind.ID, True, refers_to="site"),
        TableColumn("area_m2", "Area", Kind.NUMBER, True, unit="m2"),
        TableColumn("note", "Note", Kind.TEXT, False),
    ))  # fmt: skip

    described = metadata([table], "2026-01-01T00:00:00Z", "Firm")

    assert described["@context"][0] == "http://www.w3.org/ns/csvw"
    (first,) = described["tables"]
    assert first["url"] == "surface.csv"
    assert first["tableSchema"]["primaryKey"] == "id"
    assert first["tableSchema"]["foreignKeys"] == [
        {"columnReference": "site_id", "reference": {"resource": "site.csv", "columnReference": "id"}}
    ]
    id_, _, area, note = first["tableSchema"]["columns"]
    assert (area["datatype"], area["schema:unitCode"], area["required"]) == ("double", "m2", True)
    assert id_["datatype"]["base"] == "string"
    assert note["null"] == NOTHING
