"""What a rain record says in words: months of a year, the hours without rain before a round, and what speaks against
what was written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.format import NOTHING
from qa.calc.dry_time import DryTime, DryVerdict
from qa.presentation.rain_records import doubt_words, dry_line, dry_words, rain_columns, year_rows
from qa.selectors.rain_records import MonthOfRain

WHOLE_MONTH = MonthOfRain(50.8, 1.0)


def cells(months, units="si"):
    """The cells of one year, by the names over them."""
    (row,) = year_rows({2025: months}, units)
    return dict(zip(rain_columns(), row, strict=True))


def test_a_month_stands_under_its_name_and_one_that_nobody_recorded_is_left_open():
    found = cells({2: WHOLE_MONTH})

    assert found["Feb"] == "50.8 mm"
    assert [found[name] for name in ("Jan", "Mar", "Dec")] == [NOTHING] * 3
    assert (found["Year"], found["All that is known"]) == ("2025", "50.8 mm")


@pytest.mark.parametrize(
    ("covered", "said"),
    [
        (1.0, "50.8 mm"),
        (0.995, "50.8 mm"),
        (0.9949, "50.8 mm in 99\u00a0% of it"),
        (0.5, "50.8 mm in 50\u00a0% of it"),
    ],
)
def test_a_month_that_is_known_in_part_says_of_how_much(covered, said):
    assert cells({7: MonthOfRain(50.8, covered)})["Jul"] == said


def test_years_come_newest_first_and_each_sums_its_own_months():
    rows = year_rows({2024: {1: WHOLE_MONTH}, 2026: {1: WHOLE_MONTH, 12: MonthOfRain(25.4, 1.0)}}, "us")

    assert [row[0] for row in rows] == ["2026", "2024"]
    assert [row[-1] for row in rows] == ["3 in", "2 in"]
    assert year_rows({}, "si") == []


@pytest.mark.parametrize(
    ("dry", "said"),
    [
        (DryTime(0.0, None, False, None), "not covered by the rain record"),
        (DryTime(240.0, None, True, None), "more than 240 h before, by the rain record"),
        (DryTime(30.0, None, False, None), "not covered by the rain record"),
        (DryTime(23.6, 23.9, True, None), "23.6 h before, by the rain record"),
        (DryTime(23.96, None, True, None), "more than 23.9 h before, by the rain record"),
        (DryTime(20.04, 23.51, True, None), "20 to 23.6 h before, by the rain record"),
        (DryTime(30.0, 31.0, True, None), "30 h before, by the rain record"),
        (DryTime(30.0, 54.0, True, None), "30 to 54 h before, by the rain record"),
        (DryTime(2.0, 26.0, False, None), "2 to 26 h before, by the rain record"),
    ],
    ids=[
        "no record",
        "no rain",
        "gap",
        "not quite a day",
        "nearly a day, and no rain",
        "to tenths outwards",
        "to the hour",
        "a day's row",
        "rain known beside a gap",
    ],
)
def test_hours_without_rain_are_told_as_the_record_knows_them(dry, said):
    assert dry_words(dry) == said


@pytest.mark.parametrize(
    ("stated_h", "written"),
    [(None, "nothing was written"), (48.0, "48 h were written"), (36.5, "36.5 h were written")],
)
def test_a_round_on_a_wet_day_is_to_be_looked_at_with_what_was_written(stated_h, written):
    said = doubt_words(DryTime(5.0, 6.0, True, stated_h))

    assert said.startswith(f"Last rain 5 h before, by the rain record; {written}.")
    assert "correct its weather if the record is right" in said


def test_what_the_record_bears_out_raises_no_doubt():
    assert doubt_words(DryTime(72.0, 73.0, True, 72.0)) == ""
    assert dry_line(None) is None


HOURS = st.floats(0.0, 240.0)
DRY_TIMES = st.builds(
    lambda least, more, covered, stated: DryTime(
        least, None if more is None else least + more, covered, stated
    ),
    HOURS,
    st.none() | HOURS,
    st.booleans(),
    st.none() | HOURS,
)


@given(DRY_TIMES)
def test_words_and_doubt_of_a_line_go_with_the_verdict(dry):
    line = dry_line(dry)

    assert line.words
    assert (line.words == "not covered by the rain record") == (dry.most_h is None and not dry.is_covered)
    assert bool(line.doubt) == dry.asks_for_a_look
    if dry.verdict is DryVerdict.WET and dry.stated_h is None:
        assert "nothing was written" in line.doubt
