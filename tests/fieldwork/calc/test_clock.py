"""When something was made on a phone whose clock is wrong."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldwork.calc.clock import NONE, SLOWEST, TOLERANCE, KnownOffset, Stamps, shifted

NOON = datetime(2026, 6, 10, 12, tzinfo=UTC)
DAY, HOUR, MINUTE, SECOND = (timedelta(**{unit: 1}) for unit in ("days", "hours", "minutes", "seconds"))


def stamps(
    wrong_when_made, wrong_when_sent, *, made_ago=4 * HOUR, under_way=NONE, known=None, known_ago=8 * HOUR
):
    """An entry made `made_ago` before its arrival at noon, on a clock that is wrong by so much.

    known: by how much the clock was wrong at a contact `known_ago` before noon.
    """
    return Stamps(
        made_at=NOON - made_ago + wrong_when_made,
        sent_at=NOON - under_way + wrong_when_sent,
        received_at=NOON,
        known=None if known is None else KnownOffset(-known, NOON - known_ago),
    )


CASES = {
    "right": (stamps(NONE, NONE), NONE),
    "a minute off is as good as right": (stamps(MINUTE, MINUTE), NONE),
    "just within the tolerance": (stamps(TOLERANCE, TOLERANCE), NONE),
    "just beyond it": (stamps(TOLERANCE + SECOND, TOLERANCE + SECOND), -TOLERANCE - SECOND),
    "two days ahead": (stamps(2 * DAY, 2 * DAY), -2 * DAY),
    "two days behind": (stamps(-2 * DAY, -2 * DAY), 2 * DAY),
    "two days ahead, with a contact that knew": (stamps(2 * DAY, 2 * DAY, known=2 * DAY), -2 * DAY),
    "ahead, set right before sending, without a contact that knew": (stamps(2 * DAY, NONE), NONE),
    "ahead, set right before sending": (stamps(2 * DAY, NONE, known=2 * DAY), -2 * DAY),
    "behind, set right before sending": (stamps(-2 * DAY, NONE, known=-2 * DAY), 2 * DAY),
    "right, set wrong before sending": (stamps(NONE, 2 * DAY, known=NONE), NONE),
    "right, sent over an hour ahead": (stamps(NONE, 9 * HOUR, known=NONE), NONE),
    "neither offset can be: that of the sending": (stamps(5 * DAY, DAY, known=2 * DAY), -DAY),
    "ten minutes under way, with a contact that knew": (
        stamps(NONE, NONE, under_way=10 * MINUTE, known=NONE),
        NONE,
    ),
    "ten minutes under way, without one": (stamps(NONE, NONE, under_way=10 * MINUTE), 10 * MINUTE),
    "longer than any way": (
        stamps(NONE, NONE, under_way=SLOWEST + SECOND, known=NONE),
        SLOWEST + SECOND,
    ),
}


@pytest.mark.parametrize(("entry", "offset"), CASES.values(), ids=CASES)
def test_the_offset_of_a_clock(entry, offset):
    assert entry.offset == offset
    assert entry.corrected == entry.made_at + offset


offsets = st.timedeltas(min_value=-400 * DAY, max_value=400 * DAY)
spans = st.timedeltas(min_value=NONE, max_value=30 * DAY)


@given(wrong=offsets, made_ago=spans)
def test_a_clock_that_is_wrong_by_the_same_all_along_is_corrected_to_within_the_tolerance(wrong, made_ago):
    entry = stamps(wrong, wrong, made_ago=made_ago)

    assert abs(entry.corrected - (NOON - made_ago)) <= TOLERANCE


@given(wrong=offsets, sent_wrong=offsets, made_ago=spans, before=spans)
def test_a_contact_that_knew_never_makes_it_worse_than_a_slow_way(wrong, sent_wrong, made_ago, before):
    entry = stamps(wrong, sent_wrong, made_ago=made_ago, known=wrong, known_ago=made_ago + before)
    true, could_be = NOON - made_ago, entry.made_at + (NOON - entry.sent_at)

    fits = NOON - made_ago - before - TOLERANCE <= could_be <= NOON + TOLERANCE
    assert fits or abs(entry.corrected - true) <= TOLERANCE


@given(wrong=offsets, known=offsets, made_ago=spans)
def test_only_the_offsets_that_were_measured_are_used(wrong, known, made_ago):
    entry = stamps(wrong, wrong, made_ago=made_ago, known=known)

    assert entry.offset in (NONE, -wrong, -known)


def test_a_time_beyond_the_calendar_stays():
    last = datetime.max.replace(tzinfo=UTC)

    assert shifted(last, DAY) == last
    assert shifted(NOON, DAY) == NOON + DAY
