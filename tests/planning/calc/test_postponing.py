"""On which later day a crew can do what an unworkable day prevented."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.calc.postponing import AHEAD_DAYS, DRIVES_MIN, CrewCalendar, Outing, first_days

RAINY = date(2026, 11, 25)  # a Wednesday
DAY = timedelta(days=1)


def weekdays(day):
    return day.isoweekday() <= 5


def any_day(_day):
    return True


def outing(key="a", minutes=240, may_go_on=any_day, parts=()):
    return Outing(key, minutes, may_go_on, frozenset(parts))


def calendar(works_on=weekdays, shift_min=480, **values):
    return CrewCalendar(works_on, shift_min, **values)


def days(outings, of):
    return [on for _, on in first_days(outings, of, RAINY)]


def test_it_goes_to_the_next_working_day():
    assert days([outing()], calendar()) == [RAINY + DAY]


def test_it_skips_the_weekend():
    friday = calendar(taken_min={RAINY + DAY: 400, RAINY + 2 * DAY: 400})

    assert days([outing()], friday) == [date(2026, 11, 30)]


def test_it_joins_a_day_with_room_and_not_one_without():
    """By hand: 480 less 60 of driving leaves 420; 180 and 240 fill it, one minute more does not fit."""
    fits = calendar(taken_min={RAINY + DAY: 480 - DRIVES_MIN - 240})
    full = calendar(taken_min={RAINY + DAY: 480 - DRIVES_MIN - 240 + 1})

    assert days([outing()], fits) == [RAINY + DAY]
    assert days([outing()], full) == [RAINY + 2 * DAY]


def test_what_is_longer_than_a_day_takes_an_empty_one():
    assert days([outing(minutes=2_000)], calendar(taken_min={RAINY + DAY: 1})) == [RAINY + 2 * DAY]


def test_it_waits_for_its_sites():
    def from_saturday(day):
        return day >= RAINY + 3 * DAY

    assert days([outing(may_go_on=from_saturday)], calendar()) == [date(2026, 11, 30)]


def test_the_same_work_is_not_put_twice_on_a_day():
    there = calendar(parts={RAINY + DAY: frozenset({"sweep"})})

    assert days([outing(parts={"sweep"})], there) == [RAINY + 2 * DAY]


def test_what_finds_no_day_within_a_month_stays():
    assert days([outing()], calendar(works_on=lambda day: day > RAINY + AHEAD_DAYS * DAY)) == [None]
    assert days([outing()], calendar(works_on=lambda day: day == RAINY + AHEAD_DAYS * DAY)) == [
        RAINY + AHEAD_DAYS * DAY
    ]


@given(st.lists(st.integers(10, 700), max_size=12), st.integers(120, 600))
def test_no_day_is_overfilled_but_by_one_outing_alone(minutes, shift_min):
    outings = [outing(key, length, parts={key}) for key, length in enumerate(minutes)]

    found = first_days(outings, calendar(shift_min=shift_min), RAINY)

    by_day = {}
    for one, on in found:
        if on is not None:
            assert on > RAINY
            assert weekdays(on)
            by_day.setdefault(on, []).append(one.minutes)
    for together in by_day.values():
        assert len(together) == 1 or sum(together) <= shift_min - DRIVES_MIN


@pytest.mark.parametrize("count", [1, 3])
def test_outings_keep_their_order(count):
    found = first_days([outing(key, 400) for key in range(count)], calendar(), RAINY)

    assert [one.key for one, _ in found] == list(range(count))
    assert [on for _, on in found] == sorted(on for _, on in found)
