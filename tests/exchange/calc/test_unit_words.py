"""Units of sheets, held to definitions written here anew, in fractions: none is rounded on the way."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.units import UnitSystem
from exchange.calc.example import header
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import UNITS, converted, split_unit, unit_named

# International yard and pound of 1959 (1 in = 25.4 mm, 1 lb = 0.45359237 kg), US gallon of 231 cubic inches (NIST
# Handbook 44, Appendix C), acre of 43 560 square feet, standard gravity 9.806 65 m/s² (CGPM 1901): all from memory.
INCH_M, POUND_KG, GRAVITY = (
    Fraction(254, 10_000),
    Fraction(45_359_237, 100_000_000),
    Fraction(980_665, 100_000),
)
FOOT_M = 12 * INCH_M
DEFINED = {
    ("in", "mm"): INCH_M * 1000,
    ("ft", "m"): FOOT_M,
    ("ft", "in"): Fraction(12),
    ("cm", "mm"): Fraction(10),
    ("ft²", "m²"): FOOT_M**2,
    ("yd²", "ft²"): Fraction(9),
    ("ha", "m²"): Fraction(10_000),
    ("acre", "ft²"): Fraction(43_560),
    ("in/h", "mm/h"): INCH_M * 1000,
    ("cm/h", "mm/h"): Fraction(10),
    ("m/s", "mm/h"): Fraction(3_600_000),
    ("lb", "kg"): POUND_KG,
    ("t", "kg"): Fraction(1000),
    ("g", "kg"): Fraction(1, 1000),
    ("gal", "L"): 231 * INCH_M**3 * 1000,
    ("ft³", "m³"): FOOT_M**3,
    ("m³", "L"): Fraction(1000),
    ("min", "s"): Fraction(60),
    ("h", "min"): Fraction(60),
    ("psi", "bar"): POUND_KG * GRAVITY / INCH_M**2 / 100_000,
    ("kPa", "bar"): Fraction(1, 100),
    ("MPa", "bar"): Fraction(10),
    ("%", "share"): Fraction(1, 100),
}
PAIRS = [(a, b) for a in UNITS for b in UNITS if UNITS[a].dimension == UNITS[b].dimension and a != b]
NUMBERS = st.floats(-1e6, 1e6)


@pytest.mark.parametrize(("given_in", "wanted"), DEFINED)
def test_a_unit_is_worth_what_it_is_defined_to_be(given_in, wanted):
    exact = DEFINED[given_in, wanted]

    assert converted(1.0, UNITS[given_in], UNITS[wanted]) == pytest.approx(float(exact), rel=1e-14)
    assert converted(1.0, UNITS[wanted], UNITS[given_in]) == pytest.approx(float(1 / exact), rel=1e-14)


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [(-40, -40), (0, 32), (37, Fraction(986, 10)), (100, 212)]
)
def test_degrees_agree_where_the_scales_were_set(celsius, fahrenheit):
    assert converted(float(celsius), UNITS["°C"], UNITS["°F"]) == pytest.approx(float(fahrenheit), abs=1e-12)
    assert converted(float(fahrenheit), UNITS["°F"], UNITS["°C"]) == pytest.approx(celsius, abs=1e-12)


@given(NUMBERS, st.sampled_from(PAIRS))
def test_there_and_back_is_the_same_number(number, pair):
    there = converted(number, UNITS[pair[0]], UNITS[pair[1]])

    assert converted(there, UNITS[pair[1]], UNITS[pair[0]]) == pytest.approx(number, rel=1e-12, abs=1e-9)


@given(NUMBERS, st.sampled_from(PAIRS), st.sampled_from(sorted(UNITS)))
def test_by_way_of_a_third_unit_it_is_the_same(number, pair, third):
    a, b, c = UNITS[pair[0]], UNITS[pair[1]], UNITS[third]
    if c.dimension != a.dimension:
        with pytest.raises(ValueError, match=f"{a.name} cannot be brought into {c.name}"):
            converted(number, a, c)
    else:
        by_way = converted(converted(number, a, c), c, b)
        assert by_way == pytest.approx(converted(number, a, b), rel=1e-12, abs=1e-9)


@given(NUMBERS, st.sampled_from(sorted(UNITS)))
def test_a_unit_into_itself_changes_no_bit(number, name):
    assert converted(number, UNITS[name], UNITS[name]) == number


# ---- as headers write them --------------------------------------------------------------------------------

WRITTEN = ["{} [{}]", "{} ({})", "{}({})", "  {}  [ {} ]  "]


@pytest.mark.parametrize("name", [name for name in UNITS if name != "share"])
@pytest.mark.parametrize("way", WRITTEN)
def test_every_unit_in_brackets_is_parted_from_its_header(name, way):
    assert split_unit(way.format("Reading taken", name)) == ("Reading taken", UNITS[name])


@pytest.mark.parametrize("name", [name for name in UNITS if name not in ("share", "°", "days", "months")])
def test_every_unit_is_known_whatever_the_case(name):
    assert unit_named(name.upper()) == unit_named(name.lower()) == UNITS[name]


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("sq ft", "Sq. Ft.", "sqft", "SF", "square feet", "ft2", "ft^2"), "ft²"),
        (("cbm", "m3", "cubic metres", "m^3"), "m³"),
        (("mm/hr", "mm per hour", "MM/H"), "mm/h"),
        (("lbs", "Pounds", "lb."), "lb"),
        (("litres", "l", "Liter"), "L"),
        (("hrs", "hours", "Hr."), "h"),
        (("″", '"', "inches"), "in"),
        (("′", "'", "feet"), "ft"),
        (("deg C", "celsius"), "°C"),
        (("per cent", "pct"), "%"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_unit_is_known_by_what_people_call_it(words, name):
    assert {word: unit_named(word) for word in words} == dict.fromkeys(words, UNITS[name])


@pytest.mark.parametrize("text", ["", " ", "?", "kg/m", "stone", "mmm", "note", "in list"])
def test_any_other_word_is_no_unit(text):
    assert unit_named(text) is None


@pytest.mark.parametrize(
    "text", ["Tested on", "Site", "m", "h", "", "Depth", "Gate code", "Sealed with", "What was put in place"]
)
def test_a_header_without_a_unit_stays_whole(text):
    assert split_unit(text) == (text, None)


@given(st.text(max_size=60))
def test_no_header_makes_it_fail_and_what_is_parted_off_was_in_it(text):
    name, unit = split_unit(text)

    assert unit is None or len(name) < len(text)
    assert unit is not None or name == text.strip()


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("kind", SheetKind)
def test_the_headers_of_our_own_sheets_say_the_unit_that_is_meant_without_them(kind, system):
    measured = [c for c in KINDS[kind].columns if c.unit_in(system) not in ("", "share")]

    said = {column.key: split_unit(header(column, system))[1] for column in measured}

    assert said == {column.key: UNITS[column.unit_in(system)] for column in measured}


@pytest.mark.parametrize("kind", SheetKind)
def test_both_systems_of_a_column_measure_the_same(kind):
    pairs = [column.units for column in KINDS[kind].columns if any(column.units)]

    assert all(UNITS[si].dimension == UNITS[us].dimension for si, us in pairs)
