"""What a phone kept of a form, as the form's view receives it."""

from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

import pytest

from fieldwork.calc.clock import Stamps
from fieldwork.calc.fields import SentFile, by_our_clock, digest, with_id

ENTRY = UUID("6f1d7c1e-3c52-4b0e-9d43-1f6a1f0f6b10")
NOON = datetime(2026, 6, 10, 12, tzinfo=UTC)
FILE = SentFile("photos", "ab")
FIELDS = [("spot", "gate"), ("topics", "a"), ("topics", "b")]


def test_the_order_of_fields_and_files_does_not_matter():
    other = SentFile("photos", "cd")

    assert digest("/a/", FIELDS, [FILE, other]) == digest("/a/", FIELDS[::-1], [other, FILE])


@pytest.mark.parametrize(
    "name", ["made_at", "csrfmiddlewaretoken", "seen", "device_id", "row-0-device_id", "x-seen"]
)
def test_what_is_of_one_page_does_not_matter(name):
    assert digest("/a/", [*FIELDS, (name, "1")], []) == digest("/a/", [*FIELDS, (name, "2")], [])


OTHERS = {
    "another path": ("/b/", FIELDS, [FILE]),
    "another value": ("/a/", [("spot", "yard"), *FIELDS[1:]], [FILE]),
    "a field more": ("/a/", [*FIELDS, ("note", "")], [FILE]),
    "a value less": ("/a/", FIELDS[:-1], [FILE]),
    "a time that was measured": ("/a/", [*FIELDS, ("finished_at", "x")], [FILE]),
    "a name that only begins like one": ("/a/", [*FIELDS, ("seen_by", "x")], [FILE]),
    "no file": ("/a/", FIELDS, []),
    "another file": ("/a/", FIELDS, [SentFile("photos", "ac")]),
    "the file in another field": ("/a/", FIELDS, [SentFile("row-photos", "ab")]),
    "values that run together": ("/a/", [("spot", "gate"), ("topicsa", ""), ("topics", "b")], [FILE]),
}


@pytest.mark.parametrize("other", OTHERS.values(), ids=OTHERS)
def test_everything_else_does(other):
    assert digest(*other) != digest("/a/", FIELDS, [FILE])


def test_every_form_gets_an_id_made_from_the_entrys():
    given = [("device_id", "old"), ("ponding-device_id", "old"), ("spot", "gate")]

    assert with_id(given, ENTRY) == [
        ("ponding-device_id", str(uuid5(ENTRY, "ponding-device_id"))),
        ("spot", "gate"),
        ("device_id", str(ENTRY)),
    ]


def test_an_entry_without_an_id_gets_one():
    assert with_id([], ENTRY) == [("device_id", str(ENTRY))]


def two_days_ahead(made_at):
    ahead = timedelta(days=2)
    return Stamps(made_at + ahead, NOON + ahead, NOON)


GIVEN = [
    ("tested_on", "2026-06-12"),
    ("due_on", "2026-06-12"),
    ("made_at", "2026-06-12T10:00:00.000Z"),
    ("row-finished_at", "2026-06-12T12:00:00+02:00"),
    ("finished_at", "2026-06-12 10:00"),
    ("note", "2026-06-12T10:00:00Z"),
]


def test_what_a_wrong_clock_filled_in_is_moved_and_nothing_else():
    moved = by_our_clock(GIVEN, two_days_ahead(NOON), ["tested_on"], ZoneInfo("UTC"))

    assert moved == [
        ("tested_on", "2026-06-10"),
        ("due_on", "2026-06-12"),
        ("made_at", "2026-06-10T10:00:00+00:00"),
        ("row-finished_at", "2026-06-10T10:00:00+00:00"),
        ("finished_at", "2026-06-10T10:00:00+00:00"),
        ("note", "2026-06-12T10:00:00Z"),
    ]


def test_a_right_clock_moves_nothing():
    right = Stamps(NOON, NOON, NOON)

    assert by_our_clock(GIVEN, right, ["tested_on"], ZoneInfo("UTC")) == GIVEN


@pytest.mark.parametrize(
    ("zone", "day"),
    [("Pacific/Kiritimati", "2026-06-11"), ("UTC", "2026-06-10"), ("Pacific/Midway", "2026-06-10")],
)
def test_the_day_is_the_one_at_the_site(zone, day):
    ((_, moved),) = by_our_clock(
        [("tested_on", "2026-06-12")], two_days_ahead(NOON), ["tested_on"], ZoneInfo(zone)
    )

    assert moved == day


@pytest.mark.parametrize("odd", ["", "soon", "2026-13-01T00:00:00Z"])
def test_what_is_no_time_is_left_to_the_form(odd):
    given = [("finished_at", odd)]

    assert by_our_clock(given, two_days_ahead(NOON), [], ZoneInfo("UTC")) == given
