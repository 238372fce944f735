"""What is odd in a record, from plain numbers; the pages that show it are tested beside this."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.calc.data_quality import data_quality_notes
from maintenance.calc.forecast_payload import Range, RoundAgainstForecast
from maintenance.calc.text import speak


def against(measured, expected, pit_lo=0.5, pit_hi=None):
    """A round that showed so much where so much was expected. pit: chance of a lower result."""
    around = Range(expected, expected / 2, expected * 2, expected / 4, expected * 4)
    chance = pit_lo if pit_hi is None else pit_hi
    return RoundAgainstForecast(date(2026, 6, 1), 3, measured, around, pit_lo, chance)


def notes(*rounds, tests=3, bounded_tests=0, cleanings=0, fastest_mm_h=5000.0):
    found = data_quality_notes(
        rounds, tests=tests, bounded_tests=bounded_tests, cleanings=cleanings, fastest_mm_h=fastest_mm_h
    )
    return [speak(text, "si") for text in found]


def test_an_ordinary_record_has_nothing_odd():
    assert notes(against(900.0, 1000.0), against(1100.0, 1000.0, 0.9), cleanings=2) == []


@pytest.mark.parametrize(
    ("pit_lo", "pit_hi", "odd"),
    [
        (0.0, 0.0, True),
        (0.00099, 0.00099, True),
        (0.001, 0.001, False),  # one round in a thousand is the line, and on it is not beyond it
        (0.999, 0.999, False),
        (0.99901, 0.99901, True),
        (1.0, 1.0, True),
        (0.0, 0.5, False),  # with bounds in it the round may have been ordinary
        (0.5, 1.0, False),
        (0.0, 1.0, False),
    ],
)
def test_a_round_that_the_forecast_gave_less_than_one_chance_in_a_thousand_is_pointed_out(
    pit_lo, pit_hi, odd
):
    assert bool(notes(against(9000.0, 1000.0, pit_lo, pit_hi))) == odd


@pytest.mark.parametrize(
    ("measured", "expected", "said"),
    [
        (9000.0, 1000.0, "showed 9 times the rate that was expected then"),
        (1100.0, 1000.0, "showed 1.1 times the rate"),
        (1000.0, 1000.0, "showed 1 times the rate"),
        (900.0, 1000.0, "showed only 90 % of the rate"),
        (50.0, 1000.0, "showed only 5 % of the rate"),
    ],
)
def test_a_surprise_says_how_far_off_it_was(measured, expected, said):
    [text] = notes(against(measured, expected, 0.9999))

    assert said in text
    assert "1\u00a0Jun\u00a02026" in text


@pytest.mark.parametrize(
    ("tests", "bounded", "odd"), [(0, 0, False), (1, 1, True), (3, 3, True), (3, 2, False), (3, 0, False)]
)
def test_a_record_of_bounds_alone_is_pointed_out(tests, bounded, odd):
    assert (
        any("Every test is only a bound" in text for text in notes(tests=tests, bounded_tests=bounded)) == odd
    )


@pytest.mark.parametrize(
    ("cleanings", "tests", "odd"),
    [(0, 0, False), (2, 0, False), (3, 0, True), (30, 0, True), (3, 1, False), (30, 5, False)],
)
def test_three_cleanings_without_a_test_are_pointed_out(cleanings, tests, odd):
    found = notes(cleanings=cleanings, tests=tests)

    assert found == (
        [
            f"{cleanings} cleanings are recorded and no test, so what they gave is unknown. Record a test round."
        ]
        if odd
        else []
    )


@pytest.mark.parametrize(("fastest", "odd"), [(199_999.0, False), (200_000.0, False), (200_001.0, True)])
def test_a_rate_faster_than_open_gravel_is_pointed_out(fastest, odd):
    """200 000 mm/h is our judgement, no source: 200 m an hour."""
    assert any("faster than open gravel drains" in text for text in notes(fastest_mm_h=fastest)) == odd


@given(pits=st.lists(st.floats(0.0, 1.0), max_size=8))
def test_each_surprising_round_is_named_once_and_in_order(pits):
    rounds = [
        RoundAgainstForecast(date(2026, 1, 1 + i), 3, 2.0, Range(1.0, 1.0, 1.0, 1.0, 1.0), pit, pit)
        for i, pit in enumerate(pits)
    ]

    found = notes(*rounds)

    surprising = [i for i, pit in enumerate(pits) if pit < 0.001 or pit > 0.999]
    assert [f"{1 + i}\u00a0Jan" in text for i, text in zip(surprising, found, strict=True)] == [True] * len(
        found
    )
