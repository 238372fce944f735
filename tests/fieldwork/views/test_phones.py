"""What the office sees of phones: what waits, what was refused, what may be lost."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from fieldwork.models import HeldEntry, Phone
from tests.fieldwork.factories import FieldEntryFactory, HeldEntryFactory, PhoneFactory

PHONES = reverse("fieldwork:phone-list")
AGO = timedelta(days=2)


@pytest.fixture
def phone(firm):
    return PhoneFactory(organisation=firm.organisation, person=firm.technician)


def text_of(client, person, url=PHONES):
    client.force_login(person)
    return " ".join(client.get(url).content.decode().split())


def lost(phone, **other):
    return HeldEntryFactory(phone=phone, state="lost", lost_at=now(), **other)


def parked(phone, since=AGO, **other):
    return HeldEntryFactory(phone=phone, state="parked", parked_at=now() - since, reason="No role.", **other)


def waiting(phone, since):
    row = HeldEntryFactory(phone=phone)
    HeldEntry.objects.filter(pk=row.pk).update(created_at=now() - since)
    return row


def test_what_waits_is_counted_with_the_oldest_of_it(client, firm, phone):
    HeldEntryFactory(phone=phone, made_at=now() - AGO)
    HeldEntryFactory(phone=phone)

    text = text_of(client, firm.coordinator)

    assert "2 records wait, the oldest of 8 Jun 2026" in text
    assert "Last heard of 10 Jun 2026" in text


def test_one_that_waits_alone_is_told_with_its_day(client, firm, phone):
    HeldEntryFactory(phone=phone)

    assert "1 record waits, of 10 Jun 2026" in text_of(client, firm.coordinator)


def test_what_was_refused_is_told_with_why(client, firm, phone):
    parked(phone, title="Test at the gate")

    text = text_of(client, firm.coordinator)

    assert "Test at the gate" in text
    assert "Since 8 Jun 2026" in text
    assert ": No role." in text
    assert "Nothing waits on it" in text


def test_what_was_lost_may_be_dealt_with_and_what_waits_may_not(client, firm, phone):
    gone, waits = lost(phone), HeldEntryFactory(phone=phone)

    text = text_of(client, firm.coordinator)

    assert reverse("fieldwork:phone-settle", args=[gone.pk]) in text
    assert reverse("fieldwork:phone-settle", args=[waits.pk]) not in text


@pytest.mark.parametrize("make", [parked, waiting])
@pytest.mark.parametrize(("hours", "may"), [(23, False), (25, True)])
def test_what_is_refused_or_waits_for_more_than_a_day_may_be_dealt_with(
    client, firm, phone, make, hours, may
):
    row = make(phone, since=timedelta(hours=hours))
    settle = reverse("fieldwork:phone-settle", args=[row.pk])

    assert (settle in text_of(client, firm.coordinator)) == may
    assert settle not in text_of(client, firm.technician)


def test_what_was_taken_away_stands_under_what_was_dealt_with(client, firm, phone):
    said = f"Taken away on the phone by {firm.technician}."
    HeldEntryFactory(
        phone=phone,
        state="taken_away",
        dealt_with_at=now(),
        dealt_with_by=firm.technician,
        dealt_with_reason=said,
    )

    text = text_of(client, firm.coordinator)

    assert "Dealt with lately" in text
    assert said in text
    assert "Nothing waits on it" in text


def test_what_was_dealt_with_is_listed_no_more_and_says_who_and_why(client, firm, phone):
    gone = lost(phone, title="Sieve analysis")
    client.force_login(firm.coordinator)

    answer = client.post(reverse("fieldwork:phone-settle", args=[gone.pk]), {"reason": "Measured again."})

    assert answer.url == PHONES
    gone.refresh_from_db()
    assert (gone.dealt_with_by, gone.dealt_with_reason) == (firm.coordinator, "Measured again.")
    text = text_of(client, firm.coordinator)
    assert reverse("fieldwork:phone-settle", args=[gone.pk]) not in text
    assert "Dealt with lately" in text
    assert "Measured again." in text


def test_a_reason_is_asked_for(client, firm, phone):
    gone = lost(phone)
    client.force_login(firm.coordinator)

    client.post(reverse("fieldwork:phone-settle", args=[gone.pk]), {"reason": " "})

    gone.refresh_from_db()
    assert gone.dealt_with_at is None


@pytest.mark.parametrize("how", ["arrived", "dealt with"])
def test_what_is_settled_meanwhile_is_not_settled_again(client, firm, phone, how):
    gone = lost(phone)
    if how == "arrived":
        FieldEntryFactory(pk=gone.entry, organisation=firm.organisation, person=firm.technician)
    else:
        HeldEntry.objects.update(dealt_with_at=now(), dealt_with_by=firm.admin, dealt_with_reason="First.")
    client.force_login(firm.coordinator)

    answer = client.post(reverse("fieldwork:phone-settle", args=[gone.pk]), {"reason": "Second."})

    assert answer.status_code == 409
    gone.refresh_from_db()
    assert gone.dealt_with_reason != "Second."


def test_a_phone_after_which_another_came_up_may_have_been_cleared(client, firm, phone):
    waits = HeldEntryFactory(phone=phone)
    Phone.objects.filter(pk=phone.pk).update(last_contact_at=now() - AGO)
    assert "may be lost" not in text_of(client, firm.coordinator)

    PhoneFactory(organisation=firm.organisation, person=firm.technician)

    text = text_of(client, firm.coordinator)
    assert "may be lost" in text
    assert reverse("fieldwork:phone-settle", args=[waits.pk]) in text


@pytest.mark.parametrize("of_whom", ["another person", "another firm"])
def test_a_phone_of_somebody_else_clears_nothing(client, firm, phone, of_whom):
    HeldEntryFactory(phone=phone)
    Phone.objects.filter(pk=phone.pk).update(last_contact_at=now() - AGO)

    if of_whom == "another person":
        PhoneFactory(organisation=firm.organisation, person=firm.viewer)
    else:
        PhoneFactory(person=firm.technician)

    assert "may be lost" not in text_of(client, firm.coordinator)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"is_protected": False}, "may throw away"),
        ({"offset_s": 172_800.0}, "Its clock is 2 days slow"),
        ({"offset_s": -7_300.0}, "Its clock is 2 hours fast"),
        ({"offset_s": 121.0}, "Its clock is 2 minutes slow"),
    ],
)
def test_what_puts_records_at_risk_is_told(client, firm, phone, told, said):
    Phone.objects.filter(pk=phone.pk).update(**told)

    assert said in text_of(client, firm.coordinator)


@pytest.mark.parametrize("told", [{"is_protected": None}, {"offset_s": 119.0}, {"offset_s": -119.0}])
def test_what_does_not_is_not(client, firm, phone, told):
    Phone.objects.filter(pk=phone.pk).update(**told)

    assert "notice--caution" not in text_of(client, firm.coordinator)


def test_a_technician_sees_their_own_phones_and_settles_nothing(client, firm, phone):
    gone = lost(phone, title="Mine")
    lost(PhoneFactory(organisation=firm.organisation, person=firm.coordinator), title="Theirs")

    text = text_of(client, firm.technician)

    assert "Mine" in text
    assert "Theirs" not in text
    assert reverse("fieldwork:phone-settle", args=[gone.pk]) not in text
    assert reverse("fieldwork:phone-take-in") not in text


def test_a_phone_that_was_not_heard_of_for_long_is_shown_while_something_is_open_on_it(client, firm, phone):
    Phone.objects.filter(pk=phone.pk).update(last_contact_at=now() - timedelta(days=100))
    assert "No phone yet" in text_of(client, firm.coordinator)

    HeldEntryFactory(phone=phone)

    assert "1 record waits" in text_of(client, firm.coordinator)


def test_another_firms_phones_are_not_shown(client, firm):
    HeldEntryFactory(title="Elsewhere")

    assert "Elsewhere" not in text_of(client, firm.coordinator)


def queries_of(client, url):
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert client.get(url).status_code == 200
    return len(asked)


def test_more_phones_take_no_more_queries(client, firm, phone):
    client.force_login(firm.coordinator)
    lost(phone)
    few = queries_of(client, PHONES)
    for _ in range(5):
        more = PhoneFactory(organisation=firm.organisation)
        HeldEntryFactory.create_batch(3, phone=more)

    assert queries_of(client, PHONES) == few


START = reverse("reporting:todo-list")
NOTICE = "did not arrive"


@pytest.mark.parametrize(
    ("make", "is_told"),
    [
        (lost, True),
        (parked, True),
        (lambda phone: parked(phone, since=timedelta(hours=23)), False),
        (lambda phone: waiting(phone, since=timedelta(days=6, hours=23)), False),
        (lambda phone: waiting(phone, since=timedelta(days=7, hours=1)), True),
        (lambda phone: lost(phone, dealt_with_at=now()), False),
        (lambda phone: lost(phone, entry=FieldEntryFactory().pk), False),
    ],
)
def test_the_first_page_of_the_office_says_what_presses(client, firm, phone, make, is_told):
    make(phone)

    assert (f"1 record from the field {NOTICE}" in text_of(client, firm.coordinator, START)) == is_told


def test_what_a_cleared_phone_held_presses(client, firm, phone):
    HeldEntryFactory(phone=phone)
    Phone.objects.filter(pk=phone.pk).update(last_contact_at=now() - timedelta(hours=1))
    PhoneFactory(organisation=firm.organisation, person=firm.technician)

    assert NOTICE in text_of(client, firm.coordinator, START)


def test_only_who_plans_is_told_and_only_of_their_own_firm(client, firm, phone):
    lost(phone)
    lost(PhoneFactory())

    assert NOTICE not in text_of(client, firm.viewer, START)
    assert NOTICE not in text_of(client, firm.outsider, START)
    assert f"1 record from the field {NOTICE}" in text_of(client, firm.coordinator, START)


def test_the_visits_lead_to_the_phones(client, firm):
    visits = reverse("planning:visit-list")

    assert PHONES in text_of(client, firm.technician, visits)
    assert PHONES not in text_of(client, firm.viewer, visits)


def test_an_unknown_entry_is_not_settled(client, firm):
    client.force_login(firm.coordinator)

    assert client.get(reverse("fieldwork:phone-settle", args=[uuid4()])).status_code == 404
