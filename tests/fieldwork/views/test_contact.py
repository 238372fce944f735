"""What a phone tells of what it holds, and what it learns."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.roles import Role
from fieldwork.models import HeldEntry, Phone
from tests.factories import MembershipFactory
from tests.fieldwork.factories import FieldEntryFactory
from tests.fieldwork.sendings import DEVICE


@pytest.fixture
def technician(client, firm):
    client.force_login(firm.technician)
    return firm.technician


def held(entry, **other):
    usual = {
        "title": "Test round",
        "about": "Yard",
        "made_at": now().isoformat(),
        "state": "waiting",
        "reason": "",
    }
    return {"id": str(entry), **usual, **other}


def tell(client, *holds, sent=(), **other):
    told = {
        "device": DEVICE,
        "agent": "Chromium on Android",
        "persisted": True,
        "held": list(holds),
        "sent": [str(one) for one in sent],
        "now": now().isoformat(),
    }
    answer = client.post(reverse("fieldwork:field-contact"), told | other, "application/json")
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_a_phone_is_known_with_what_it_tells(client, technician, firm):
    tell(
        client, held(uuid4(), title="Cleaning"), persisted=False, now=(now() - timedelta(hours=1)).isoformat()
    )

    phone = Phone.objects.get()
    assert (phone.person, phone.organisation, phone.agent) == (
        technician,
        firm.organisation,
        "Chromium on Android",
    )
    assert phone.is_protected is False
    assert phone.offset_s == pytest.approx(3600, abs=10)
    assert [(row.title, row.state) for row in phone.held.all()] == [("Cleaning", "waiting")]


def test_each_contact_takes_the_place_of_the_one_before(client, technician):
    entry = uuid4()

    tell(client, held(entry))
    tell(client, held(entry, state="parked", reason="Round set aside."), persisted=None)

    assert Phone.objects.get().is_protected is None
    row = HeldEntry.objects.get()
    assert (row.state, row.reason) == ("parked", "Round set aside.")
    assert row.parked_at


def test_since_when_an_entry_is_refused_stays(client, technician):
    entry = uuid4()
    tell(client, held(entry, state="parked", reason="No."))
    since = HeldEntry.objects.get().parked_at

    tell(client, held(entry, state="parked", reason="Still no."))

    assert HeldEntry.objects.get().parked_at == since


def test_an_entry_that_is_corrected_waits_again(client, technician):
    entry = uuid4()
    tell(client, held(entry, state="parked", reason="No."))

    tell(client, held(entry))

    row = HeldEntry.objects.get()
    assert (row.state, row.reason, row.parked_at) == ("waiting", "", None)


def test_what_was_held_and_neither_is_nor_arrived_is_lost(client, technician):
    lost, kept = uuid4(), uuid4()
    tell(client, held(lost, title="Sieve analysis"), held(kept))

    told = tell(client, held(kept))

    assert told["lost"] == [{"id": str(lost), "title": "Sieve analysis", "about": "Yard"}]
    row = HeldEntry.objects.get(entry=lost)
    assert row.state == "lost"
    assert row.lost_at


def test_what_arrived_is_not_lost(client, technician, firm):
    entry = uuid4()
    tell(client, held(entry))
    FieldEntryFactory(pk=entry, organisation=firm.organisation, person=technician)

    told = tell(client)

    assert told["lost"] == []
    assert not HeldEntry.objects.exists()


def test_what_the_phone_has_sent_and_a_restored_server_has_not_is_asked_for_and_not_lost(client, technician):
    entry = uuid4()
    tell(client, held(entry))

    told = tell(client, sent=[entry])

    assert (told["unknown"], told["lost"]) == ([str(entry)], [])


def test_only_what_the_server_does_not_have_is_asked_for(client, technician, firm):
    there, missing = FieldEntryFactory(organisation=firm.organisation, person=technician).pk, uuid4()

    assert tell(client, sent=[there, missing, missing])["unknown"] == [str(missing)]


def test_what_was_lost_and_arrives_after_all_is_told_no_more(client, technician, firm):
    entry = uuid4()
    tell(client, held(entry))
    assert tell(client)["lost"]

    FieldEntryFactory(pk=entry, organisation=firm.organisation, person=technician)

    assert tell(client)["lost"] == []


def test_what_was_lost_and_is_held_again_is_lost_no_more(client, technician):
    entry = uuid4()
    tell(client, held(entry))
    tell(client)

    told = tell(client, held(entry))

    assert told["lost"] == []
    assert (HeldEntry.objects.get().state, HeldEntry.objects.get().lost_at) == ("waiting", None)


def test_what_the_office_dealt_with_is_told_no_more(client, technician):
    tell(client, held(uuid4()))
    tell(client)
    HeldEntry.objects.update(
        dealt_with_at=now(), dealt_with_by=technician, dealt_with_reason="Measured again."
    )

    assert tell(client)["lost"] == []


def test_two_phones_of_one_person_lose_nothing_to_each_other(client, technician):
    tell(client, held(uuid4()))

    told = tell(client, device=str(uuid4()))

    assert told["lost"] == []
    assert Phone.objects.count() == 2


def test_somebody_else_on_the_same_phone_is_another_phone(client, technician, firm):
    tell(client, held(uuid4()))
    client.force_login(firm.coordinator)

    told = tell(client)

    assert told["lost"] == []
    assert HeldEntry.objects.get().state == "waiting"


def test_what_is_for_another_firm_is_kept_with_that_firm_alone(client, technician, firm):
    other = MembershipFactory(user=technician, role=Role.VIEWER).organisation
    here, there = uuid4(), uuid4()
    both = [held(here, firm=str(firm.organisation.pk)), held(there, firm=str(other.pk))]

    tell(client, *both)
    told = tell(client, both[0])

    rows = {
        row.entry: (row.phone.organisation, row.state) for row in HeldEntry.objects.select_related("phone")
    }
    assert rows == {here: (firm.organisation, "waiting"), there: (other, "lost")}
    assert [one["id"] for one in told["lost"]] == [str(there)]


def test_a_firm_that_the_person_is_not_of_is_not_told_anything(client, technician, firm):
    stranger = firm.outsider.memberships.get().organisation

    tell(client, held(uuid4(), firm=str(stranger.pk)))

    assert Phone.objects.get().organisation == firm.organisation


def test_an_owners_person_leaves_nothing_behind(client, firm):
    client.force_login(firm.owner_person)

    told = tell(client, held(uuid4()))

    assert told["lost"] == []
    assert not Phone.objects.exists()


@pytest.mark.parametrize("body", ["", "[]", "{}", '{"device": "x", "now": "y"}', "\ufffd{"])
def test_what_is_no_contact_is_refused_in_words(client, technician, body):
    answer = client.post(reverse("fieldwork:field-contact"), body, "application/json")

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")


@pytest.mark.parametrize("most", [600, 5_000])
def test_long_words_are_cut_and_nothing_is_refused_for_them(client, technician, most):
    long = dict.fromkeys(("title", "about", "reason", "firm"), "\x00w" * most)

    tell(client, held(uuid4(), state="parked", **long), agent="a" * most)

    row = HeldEntry.objects.get()
    lengths = [len(words) for words in (row.title, row.about, row.reason, row.phone.agent)]
    assert lengths == [200, 200, 500, 300]


def dealt_with():
    row = HeldEntry.objects.get()
    return row.state, row.dealt_with_by, row.dealt_with_reason


@pytest.mark.parametrize("told_lost_first", [False, True])
def test_what_its_person_took_away_is_never_lost_and_says_who_did(client, technician, told_lost_first):
    entry = uuid4()
    tell(client, held(entry))
    if told_lost_first:
        tell(client)

    told = tell(client, taken_away=[str(entry)])
    later = tell(client)

    assert (told["lost"], later["lost"]) == ([], [])
    assert dealt_with() == ("taken_away", technician, f"Taken away on the phone by {technician}.")
    assert not HeldEntry.objects.open().exists()


def test_what_was_taken_away_and_is_held_again_is_open_again(client, technician):
    entry = uuid4()
    tell(client, held(entry))
    tell(client, taken_away=[str(entry)])

    tell(client, held(entry), taken_away=[str(entry)])

    assert dealt_with() == ("waiting", None, "")


def test_an_unknown_entry_that_was_taken_away_changes_nothing(client, technician):
    entry = uuid4()
    tell(client, held(entry))

    told = tell(client, held(entry), taken_away=[str(uuid4())])

    assert told["lost"] == []
    assert dealt_with() == ("waiting", None, "")


def test_what_somebody_else_holds_is_not_taken_away_by_another_phone(client, technician):
    entry = uuid4()
    tell(client, held(entry))

    tell(client, taken_away=[str(entry)], device=str(uuid4()))

    assert dealt_with() == ("waiting", None, "")


def test_what_the_office_said_of_an_entry_stays_when_its_person_takes_it_away(client, technician, firm):
    entry = uuid4()
    tell(client, held(entry))
    HeldEntry.objects.update(
        dealt_with_at=now(), dealt_with_by=firm.admin, dealt_with_reason="Measured again."
    )

    tell(client, taken_away=[str(entry)])

    assert dealt_with() == ("taken_away", firm.admin, "Measured again.")


def test_what_was_dealt_with_stays_so_until_the_phone_tells_something_new_of_it(client, technician):
    entry = uuid4()
    tell(client, held(entry, state="parked", reason="No."))
    HeldEntry.objects.update(dealt_with_at=now(), dealt_with_by=technician, dealt_with_reason="Not needed.")

    tell(client, held(entry, state="parked", reason="No."))
    still = dealt_with()
    tell(client, held(entry))

    assert still == ("parked", technician, "Not needed.")
    assert dealt_with() == ("waiting", None, "")


def test_the_cross_site_check_holds(firm):
    client = Client(enforce_csrf_checks=True)
    client.force_login(firm.technician)

    assert client.post(reverse("fieldwork:field-contact"), {}, "application/json").status_code == 403


def test_what_is_told_again_is_not_written_again(client, technician):
    entry = held(uuid4())
    tell(client, entry)

    with CaptureQueriesContext(connection) as asked:
        tell(client, entry)

    assert not [
        one for one in asked if "heldentry" in one["sql"] and one["sql"].startswith(("UPDATE", "INSERT"))
    ]
