"""Telling the office what a phone could not hand over: once a contact, and only what is new."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils.timezone import now

from accounts.models import Notice
from fieldwork.calc.phones import Contact, Held, HeldState
from fieldwork.services.phones import note_contact


@pytest.fixture
def phone():
    return uuid4()


def held(title, state=HeldState.PARKED):
    return Held(id=uuid4(), made_at=now(), state=state.value, title=title, reason="Too wet.")


def tells(firm, phone, entries, at=None):
    """One contact of the technician's phone; returns what the admin is told by it."""
    before = set(Notice.objects.values_list("pk", flat=True))
    note_contact(
        person=firm.technician,
        firms={str(firm.organisation.pk): firm.organisation},
        acting_for=firm.organisation,
        contact=Contact(device=phone, now=now(), held=tuple(entries)),
        at=at or now(),
    )
    return [one.text for one in Notice.objects.filter(user=firm.admin).exclude(pk__in=before)]


def test_one_sentence_tells_of_all_that_a_contact_brought(firm, phone):
    entries = [held(f"Test {number}") for number in range(5)]

    (text,) = tells(firm, phone, entries)

    assert (
        text
        == f"5 records on the phone of {firm.technician} were refused: Test 0, Test 1, Test 2 and 2 more."
    )


def test_a_phone_that_tells_the_same_again_tells_nothing_new(firm, phone):
    one = held("Test round")
    tells(firm, phone, [one])

    assert tells(firm, phone, [one], now() + timedelta(minutes=5)) == []


def test_what_only_waits_is_not_told(firm, phone):
    assert tells(firm, phone, [held("Test round", HeldState.WAITING)]) == []


def test_what_the_phone_no_longer_has_is_told_once(firm, phone):
    tells(firm, phone, [held("Test round", HeldState.WAITING)])

    (text,) = tells(firm, phone, [], now() + timedelta(minutes=5))
    again = tells(firm, phone, [], now() + timedelta(minutes=9))

    whose = f"1 record did not arrive from the phone of {firm.technician}, and is no longer on it"
    assert text == f"{whose}: Test round."
    assert again == []


def test_the_person_of_the_phone_is_not_told_what_the_phone_says(firm, phone):
    tells(firm, phone, [held("Test round")])

    assert not Notice.objects.filter(user=firm.technician).exists()
