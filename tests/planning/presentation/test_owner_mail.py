"""Days of visits in a mail to an owner, and what the office reads of who was told."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from types import SimpleNamespace
from uuid import UUID

import pytest

from planning.calc.owner_news import Kind, News
from planning.presentation.owner_mail import NO_MAIL, mail_text, subject_of, told_lines

MONDAY, FRIDAY = date(2026, 6, 8), date(2026, 6, 12)
SET = News(UUID(int=1), Kind.SET, MONDAY, "Quay", ("Vacuum sweeping, Yard", "Test, Ramp"))
MOVED = News(UUID(int=2), Kind.MOVED, FRIDAY, "Quay", ("Test, Ramp",), was_on=MONDAY)
CANCELLED = News(UUID(int=3), Kind.CANCELLED, FRIDAY, "Quay")


class Owner:
    """Whose sites it is about."""

    organisation = "Dry Feet Ltd"

    def __str__(self):
        return "Town of Quay"


READER = SimpleNamespace(owner=Owner())


@pytest.mark.parametrize(
    ("news", "subject"),
    [
        ([SET], "Visit on Monday 8 Jun 2026 by Dry Feet Ltd"),
        ([MOVED], "Visit moved to Friday 12 Jun 2026 by Dry Feet Ltd"),
        ([CANCELLED], "Visit on Friday 12 Jun 2026 cancelled by Dry Feet Ltd"),
        ([SET, MOVED, CANCELLED], "3 changes of visits by Dry Feet Ltd"),
    ],
)
def test_the_subject_says_the_day_while_there_is_only_one(news, subject):
    assert subject_of(news, "Dry Feet Ltd") == subject


def test_each_change_is_told_with_its_day_site_and_work():
    paragraphs = mail_text([SET, MOVED, CANCELLED], READER).split("\n\n")

    assert paragraphs[0] == "Dry Feet Ltd tells you the days of visits to the sites of Town of Quay."
    there = "\n  https://localhost/visits/calendar/?view=day&on="
    assert paragraphs[1:4] == [
        f"New day, Monday 8 Jun 2026: Quay\n  - Vacuum sweeping, Yard\n  - Test, Ramp{there}2026-06-08",
        f"Moved from Monday 8 Jun 2026 to Friday 12 Jun 2026: Quay\n  - Test, Ramp{there}2026-06-12",
        "Cancelled, Friday 12 Jun 2026: Quay",
    ]


def test_every_mail_says_how_to_read_on_and_how_to_have_it_stopped():
    told = mail_text([CANCELLED], READER)

    assert "has all days:\nhttps://localhost/visits/calendar/\n" in told
    assert told.endswith("untick them in your details:\nhttps://localhost/me/\n")


def test_a_change_without_a_site_still_has_its_day():
    assert "\n\nCancelled, Friday 12 Jun 2026\n\n" in mail_text(
        [News(UUID(int=3), Kind.CANCELLED, FRIDAY, "")], READER
    )


def test_a_move_of_which_the_old_day_is_not_known_tells_the_new_one():
    assert "Moved, Monday 8 Jun 2026: Quay" in mail_text(
        [News(UUID(int=2), Kind.MOVED, MONDAY, "Quay")], READER
    )


# ---- Who was told ----

FIRM = SimpleNamespace(sites=SimpleNamespace(values_list=lambda *_, **__: ["Pacific/Auckland"]))


@dataclass(frozen=True)
class Told:
    """What the words need of a reader."""

    owner: str = "Town of Quay"
    person: object = field(
        default_factory=lambda: SimpleNamespace(
            user=type("Person", (), {"day_mails": True, "__str__": lambda self: "Ida Berg"})()
        )
    )
    told: object = None
    notice: object = None


def line(reader, *, mail=True, cancelled=False):
    """The line of one reader of a visit on Monday, by a firm in Auckland."""
    visit = SimpleNamespace(organisation=FIRM, is_cancelled=cancelled, visit_on=MONDAY)
    (only,) = told_lines(visit, [reader], mail)
    return only


def told_of(day, at=datetime(2026, 6, 1, 20, 0, tzinfo=UTC)):
    return SimpleNamespace(told_on=day, told_at=at)


def test_an_owner_for_whom_nobody_reads_has_to_be_told_by_hand():
    found = line(Told(person=None))

    assert (found.owner, found.person) == ("Town of Quay", "")
    assert found.stands == "not told: nobody reads for this owner yet"
    assert found.is_open


def test_who_was_told_of_the_day_was_told_on_a_day_of_the_firms_calendar():
    """In Auckland it is the next morning by then."""
    found = line(Told(told=told_of(MONDAY)))

    assert found.stands.replace("\xa0", " ") == "told by mail on 2 Jun 2026"
    assert (found.person, found.is_open) == ("Ida Berg", False)


def test_who_was_told_of_another_day_is_told_anew():
    assert line(Told(told=told_of(FRIDAY))).stands == "mail goes out within the hour"


def test_a_cancelled_visit_is_taken_back_from_those_who_were_told_of_it():
    assert line(Told(told=told_of(MONDAY)), cancelled=True).stands == "mail goes out within the hour"
    assert line(Told(told=told_of(None)), cancelled=True).stands.startswith("told by mail on")


def test_a_cancelled_visit_of_which_nobody_was_told_leaves_nothing_to_do():
    found = line(Told(), cancelled=True, mail=False)

    assert found.stands == "was never told of it, so there is nothing to take back"
    assert not found.is_open


def test_who_wants_no_mails_has_to_be_told_by_hand_even_where_mails_go_out():
    person = SimpleNamespace(user=SimpleNamespace(day_mails=False))

    found = line(Told(person=person))

    assert (found.stands, found.is_open) == ("not told: wants no mails about days", True)


def test_without_outgoing_mail_the_office_is_told_to_phone():
    assert (line(Told(), mail=False).stands, line(Told(), mail=False).is_open) == (NO_MAIL, True)


def test_a_mail_that_was_refused_says_why():
    refused = line(Told(notice=SimpleNamespace(error="mailbox full")))
    waiting = line(Told(notice=SimpleNamespace(error="")))

    assert (refused.stands, refused.is_open) == ("not told. mailbox full", True)
    assert (waiting.stands, waiting.is_open) == ("mail goes out within the hour", False)
