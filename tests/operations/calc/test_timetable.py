"""One timetable, read alike by the scheduler and by Celery beat."""

from datetime import UTC, datetime, time, timedelta

import pytest
from celery.schedules import BaseSchedule
from hypothesis import given
from hypothesis import strategies as st

from config.celery import app
from operations.calc.timetable import TIMETABLE, Entry

START = datetime(2026, 1, 1, tzinfo=UTC)
MOMENTS = st.timedeltas(timedelta(0), timedelta(days=1095)).map(lambda after: START + after)


@pytest.mark.parametrize("entry", TIMETABLE, ids=lambda entry: entry.name)
def test_beat_has_each_entry_with_its_task(entry):
    app.loader.import_default_modules()

    assert app.conf.beat_schedule[entry.name]["task"] == entry.task
    assert entry.task in app.tasks


def test_beat_has_no_entry_of_its_own():
    assert app.conf.beat_schedule.keys() == {entry.name for entry in TIMETABLE}


@pytest.mark.parametrize("entry", TIMETABLE, ids=lambda entry: entry.name)
@given(last=MOMENTS)
def test_beat_and_the_scheduler_are_due_at_the_same_time(entry, last):
    schedule: BaseSchedule = app.conf.beat_schedule[entry.name]["schedule"]
    due = entry.next_after(last)
    a_little = timedelta(milliseconds=1)

    def by_beat(moment):
        schedule.nowfun = lambda: moment
        return schedule.is_due(last).is_due

    assert by_beat(due)
    assert not by_beat(due - a_little)


@given(last=MOMENTS)
def test_a_daily_entry_is_due_within_a_day_at_its_time(last):
    due = Entry("night", "task", at=time(2, 30)).next_after(last)

    assert timedelta(0) < due - last <= timedelta(days=1)
    assert due.time() == time(2, 30)


@pytest.mark.parametrize("times", [{}, {"every": timedelta(hours=1), "at": time(2)}])
def test_an_entry_says_either_how_often_or_when(times):
    with pytest.raises(ValueError, match="either `every` or `at`"):
        Entry("night", "task", **times)


def test_the_names_of_entries_differ():
    assert len({entry.name for entry in TIMETABLE}) == len(TIMETABLE)
