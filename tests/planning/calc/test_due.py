"""Work that falls due because a surface was built, at the days on which it begins and stops to be due.

The days are common practice without a source, as the module says; each is counted out here on the calendar.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import SurfaceType
from planning.calc.due import (
    DueKind,
    cure_due,
    first_test_due,
    guarantee_due,
    hold_point_due,
    notice_due,
    top_up_due,
)

TODAY = date(2026, 6, 10)
DAY = timedelta(days=1)
DATES = st.dates(date(2000, 1, 1), date(2090, 12, 31))


def on_of(due):
    return due and due.on


def test_a_failed_hold_point_is_due_from_the_day_it_failed_and_the_opening_presses():
    due = hold_point_due("Overflow free?", date(2026, 6, 2), date(2026, 6, 12), TODAY)

    assert (due.kind, due.on) == (DueKind.HOLD_POINT, date(2026, 6, 2))
    assert due.why.startswith("Failed on 2\u00a0Jun\u00a02026: Overflow free? What follows waits for it.")
    assert due.why.endswith("The surface opens in 2 days, on 12\u00a0Jun\u00a02026.")


@pytest.mark.parametrize(
    ("opens_on", "said"),
    [
        (date(2026, 6, 11), "The surface opens in 1 day, on 11\u00a0Jun\u00a02026."),
        (date(2026, 6, 10), "The surface was to open on 10\u00a0Jun\u00a02026."),
        (date(2026, 6, 1), "The surface was to open on 1\u00a0Jun\u00a02026."),
    ],
)
def test_an_opening_is_ahead_until_its_day(opens_on, said):
    assert hold_point_due("Free?", date(2026, 6, 2), opens_on, TODAY).why.endswith(said)


@pytest.mark.parametrize(
    ("least", "unit", "until"),
    [
        (7, "d", date(2026, 6, 17)),
        (24, "h", date(2026, 6, 11)),
        (48, "h", date(2026, 6, 12)),
        (25, "h", date(2026, 6, 12)),  # an hour into the second day is the second day
        (14, "d", date(2026, 6, 24)),
    ],
)
def test_a_cure_ends_so_many_hours_or_days_after_the_course_was_laid(least, unit, until):
    due = cure_due("Kept dry.", least, unit, TODAY, date(2026, 7, 1), TODAY)

    assert (due.kind, due.on) == (DueKind.CURE, until)
    assert f"At least {least} {unit} from 10\u00a0Jun\u00a02026" in due.why


@pytest.mark.parametrize(
    ("opens_on", "too_early"),
    [(date(2026, 6, 16), True), (date(2026, 6, 17), False), (date(2026, 6, 18), False)],
)
def test_an_opening_before_the_end_of_the_cure_is_too_early(opens_on, too_early):
    due = cure_due("Kept dry.", 7, "d", TODAY, opens_on, TODAY)

    assert ("is too early" in due.why) == too_early


def test_a_cure_that_nobody_recorded_the_start_of_is_due_at_the_opening():
    due = cure_due("Kept dry.", 7, "d", None, date(2026, 6, 20), TODAY)

    assert (due.kind, due.on) == (DueKind.CURE, date(2026, 6, 20))
    assert due.why == "Kept dry. It is to be recorded before the opening."


# Sixty days ahead is seen, sixty-one is not: 10 June and 60 days is 9 August.
SEEN_FROM = [(date(2026, 8, 9), True), (date(2026, 8, 10), False)]
# A year later is still asked for: 10 June 2025 is 365 days before, 9 June 2025 is 366.
ASKED_UNTIL = [(date(2025, 6, 10), True), (date(2025, 6, 9), False)]


@pytest.mark.parametrize(("opens_on", "due"), SEEN_FROM + ASKED_UNTIL)
def test_what_belongs_to_an_opening_is_asked_for_from_sixty_days_before_to_a_year_after(opens_on, due):
    unrecorded = cure_due("Kept dry.", 7, "d", None, opens_on, TODAY)
    first = first_test_due(opens_on, TODAY)

    assert (unrecorded is not None, first is not None) == (due, due)
    if due:
        assert (first.kind, first.on) == (DueKind.FIRST_TEST, opens_on)


def test_a_cure_of_a_course_laid_late_is_asked_for_while_the_surface_is_young():
    laid = date(2026, 6, 1)

    assert cure_due("Dry.", 7, "d", laid, date(2025, 6, 10), TODAY).on == date(2026, 6, 8)
    assert cure_due("Dry.", 7, "d", laid, date(2025, 6, 9), TODAY) is None
    assert cure_due("Dry.", 69, "d", laid, date(2026, 8, 20), TODAY).on == date(2026, 8, 9)
    assert cure_due("Dry.", 70, "d", laid, date(2026, 8, 20), TODAY) is None  # 10 August is 61 days away


@pytest.mark.parametrize(
    ("opened_on", "word"),
    [(date(2026, 6, 9), "Opened"), (date(2026, 6, 10), "Opened"), (date(2026, 6, 11), "Opens")],
)
def test_a_first_test_says_whether_the_surface_is_open(opened_on, word):
    assert first_test_due(opened_on, TODAY).why.startswith(f"{word} on {opened_on.day}\u00a0Jun")


@pytest.mark.parametrize("kind", list(SurfaceType))
def test_joints_of_loose_stone_are_topped_up_half_a_year_after_the_opening_and_no_others(kind):
    due = top_up_due(kind.value, date(2026, 1, 31), None, date(2026, 7, 31))

    loose = {"picp", "clay", "concrete_grid"}
    assert on_of(due) == (date(2026, 7, 31) if kind in loose else None)
    if due:
        assert due.kind is DueKind.TOP_UP
        assert "about 6 months after the opening on 31\u00a0Jan\u00a02026" in due.why


@pytest.mark.parametrize(
    ("topped_up_on", "due"),
    [(None, True), (date(2026, 1, 30), True), (date(2026, 1, 31), False), (date(2026, 5, 1), False)],
)
def test_joints_filled_since_the_opening_are_not_asked_for_again(topped_up_on, due):
    found = top_up_due("picp", date(2026, 1, 31), topped_up_on, date(2026, 7, 31))

    assert (found is not None) == due


@pytest.mark.parametrize(
    ("today", "due"),
    [
        (date(2026, 5, 31), False),  # 61 days before 31 July
        (date(2026, 6, 1), True),
        (date(2027, 7, 31), True),  # 365 days after
        (date(2027, 8, 1), False),
    ],
)
def test_joints_are_asked_for_from_sixty_days_before_their_day_to_a_year_after_it(today, due):
    assert (top_up_due("picp", date(2026, 1, 31), None, today) is not None) == due


ENDS = date(2028, 6, 30)  # a month before it is 31 May


@pytest.mark.parametrize(
    ("today", "due"),
    [
        (date(2028, 3, 31), False),  # 61 days before 31 May
        (date(2028, 4, 1), True),
        (date(2028, 6, 30), True),
        (date(2028, 7, 30), True),  # 30 days after the end
        (date(2028, 7, 31), False),
    ],
)
def test_the_last_test_of_a_guarantee_is_asked_for_in_its_last_months_and_a_month_after(today, due):
    found = guarantee_due(ENDS, None, 0, today)

    assert on_of(found) == (date(2028, 5, 31) if due else None)


@pytest.mark.parametrize(
    ("tested_on", "due"),
    [(None, True), (date(2028, 3, 31), True), (date(2028, 4, 1), False), (date(2028, 6, 1), False)],
)
def test_a_test_in_the_last_ninety_days_of_a_guarantee_is_its_last(tested_on, due):
    """30 June less 90 days is 1 April."""
    assert (guarantee_due(ENDS, tested_on, 0, date(2028, 6, 1)) is not None) == due


@pytest.mark.parametrize(
    ("today", "defects", "said"),
    [
        (date(2028, 6, 30), 0, "The guarantee ends on 30\u00a0Jun\u00a02028, with no defects noted"),
        (date(2028, 6, 30), 1, "The guarantee ends on 30\u00a0Jun\u00a02028, with 1 defect noted"),
        (date(2028, 7, 1), 3, "The guarantee ended on 30\u00a0Jun\u00a02028, with 3 defects noted"),
    ],
)
def test_a_guarantee_says_when_it_ends_and_what_was_found(today, defects, said):
    found = guarantee_due(ENDS, None, defects, today)

    assert found.kind is DueKind.GUARANTEE
    assert found.why.startswith(said)


def test_notice_of_an_agreement_that_renews_is_due_until_its_day_and_not_after():
    notice, end = date(2026, 6, 10), date(2026, 9, 10)

    due = notice_due(end, notice, True, notice)

    assert (due.kind, due.on) == (DueKind.NOTICE, notice)
    assert (
        "renews by itself for a year after 10\u00a0Sep\u00a02026, unless notice is given by 10\u00a0Jun"
        in due.why
    )
    assert notice_due(end, notice, True, notice + DAY) is None
    assert notice_due(end, notice, True, notice - 60 * DAY) is not None
    assert notice_due(end, notice, True, notice - 61 * DAY) is None


@pytest.mark.parametrize(
    ("today", "word"),
    [(date(2026, 9, 9), "It ends"), (date(2026, 9, 10), "It ends"), (date(2026, 9, 11), "It ended")],
)
def test_an_agreement_that_does_not_renew_is_told_of_even_after_its_end(today, word):
    due = notice_due(date(2026, 9, 10), date(2026, 6, 10), False, today)

    assert due.on == date(2026, 6, 10)
    assert due.why.startswith(f"{word} on 10\u00a0Sep\u00a02026 and does not renew by itself")


@given(opened_on=DATES, today=DATES)
def test_nothing_is_shown_more_than_sixty_days_ahead(opened_on, today):
    found = [
        first_test_due(opened_on, today),
        top_up_due("clay", opened_on, None, today),
        guarantee_due(opened_on, None, 0, today),
        notice_due(opened_on, opened_on, False, today),
        cure_due("Dry.", 7, "d", opened_on, opened_on, today),
    ]

    assert all(due.on <= today + 60 * DAY for due in found if due)
