"""Days of the week as they are stored."""

import pytest

from core.calc.weekdays import NAMES, Weekdays, no_weekdays, working_week


def test_what_is_stored_comes_back():
    assert Weekdays.from_json(Weekdays((7, 1)).to_json()) == Weekdays((7, 1))
    assert Weekdays.from_json(no_weekdays()) == Weekdays()
    assert [NAMES[number - 1] for number in Weekdays.from_json(working_week())][::4] == ["Monday", "Friday"]


@pytest.mark.parametrize("numbers", [(0,), (8,), (1, 1), (True,), ("1",)])
def test_what_is_no_weekday_is_refused(numbers):
    with pytest.raises(ValueError, match="from 1, Monday, to 7"):
        Weekdays(numbers)


def test_days_are_counted_and_found():
    days = Weekdays((2, 4))

    assert (len(days), 2 in days, 3 in days) == (2, True, False)
