"""Signs of life: noted by the clock and by backups, read by who watches."""

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.utils.timezone import now

from operations.calc.signs import CLOCK_SILENT_AFTER, SignOf, is_silent
from operations.calc.timetable import TIMETABLE
from operations.models import Sign
from operations.services import signs
from operations.services.scheduler import run_task


@pytest.mark.django_db
def test_a_sign_is_one_row_that_moves_on():
    later = now() + timedelta(hours=1)
    signs.note(SignOf.CLOCK)
    with time_machine.travel(later, tick=False):
        signs.note(SignOf.CLOCK)

    assert Sign.objects.get().seen_at == later


@pytest.mark.django_db
def test_one_sign_leaves_another_alone():
    signs.note(SignOf.CLOCK)
    signs.note(SignOf.BACKUP)

    assert set(Sign.objects.values_list("of", flat=True)) == {"clock", "backup"}


@pytest.mark.django_db
def test_the_timetable_gives_a_sign_far_more_often_than_silence_is_told():
    (entry,) = [entry for entry in TIMETABLE if entry.task == "operations.tasks.note_clock"]

    run_task(entry.task)

    assert Sign.objects.get().of == "clock"
    assert entry.every * 5 <= CLOCK_SILENT_AFTER


@pytest.mark.parametrize(
    ("ago", "silent"), [(timedelta(0), False), (CLOCK_SILENT_AFTER, False), (CLOCK_SILENT_AFTER * 1.01, True)]
)
def test_silence_begins_after_the_longest_work(ago, silent):
    at = now()

    assert is_silent(at - ago, at) is silent


def test_what_was_never_heard_of_is_silent():
    assert is_silent(None, now())


@pytest.mark.django_db
def test_a_backup_of_other_programs_is_noted_by_a_command():
    said = StringIO()

    call_command("backup_taken", stdout=said)

    assert Sign.objects.get().of == "backup"
    assert said.getvalue() == "Noted.\n"
    assert str(Sign.objects.get()).startswith("A backup, 1")
