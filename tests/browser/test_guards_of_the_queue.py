"""What goes wrong in the field without each guard of the queue: controls of the tests in test_without_signal.py.

Each takes one guard out and sees the very fault that it keeps away, so that those tests are known to look at it.
"""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils.timezone import now
from PIL import Image

from fieldwork.calc.clock import Stamps
from fieldwork.models import FieldEntry, HeldEntry
from fieldwork.views import dispatch, entries
from maintenance.models import CleaningEvent
from qa.models import InfiltrationTest
from qa.services import rounds
from tests.browser.conftest import let_in, settle, until
from tests.browser.guards import without
from tests.browser.phone import Phone, fill_cleaning, fill_ring
from tests.browser.test_without_signal import (
    ENTRY,
    FULL,
    SAVE,
    cleaning_of,
    large_photo,
    phone,
    places,
    record_cleaning,
)
from tests.factories import RoundFactory, SurfaceFactory

__all__ = ["large_photo", "phone", "places", "without"]
pytestmark = pytest.mark.django_db(transaction=True)

RULES = "logic/queue.js"


def answered(page, **answer):
    """Have each sending answered so, and nothing of it reach the server."""
    page.route(ENTRY, lambda route: route.fulfill(**answer))


def sent_with(phone, **answer):
    """A cleaning recorded without signal, sent to a server that answers so. The states of what the phone holds."""
    with phone.without_signal():
        record_cleaning(phone, phone.surface)
        answered(phone.page, **answer)
    phone.send()
    return phone.states()


@pytest.fixture
def held(without, firm, request, keeps_pages):
    """A phone whose scripts lack what the test has taken out before it asks for it."""

    def opened() -> Phone:
        phone = request.getfixturevalue("phone")
        phone.surface = firm.surface
        return phone

    return opened


def test_without_kept_pages_no_form_opens_where_there_is_no_signal(without, held):
    without("field-worker.js", "if (any) return any")
    phone = held()

    with phone.without_signal():
        page = phone.page
        page.goto(cleaning_of(phone.surface))
        page.get_by_text("is not kept on this phone").wait_for()

        assert page.locator("[name=cleaned_on]").count() == 0


def test_without_writing_before_telling_a_phone_that_dies_holds_nothing(without, held):
    without("queue/store.js", 'for (const value of values) await done(t.objectStore("entries").put(value))')
    phone = held()

    with phone.without_signal():
        page = phone.open(cleaning_of(phone.surface))
        fill_cleaning(page)
        page.get_by_role("button", name=SAVE).click()
        page.get_by_role("heading", name="kept on this phone").wait_for()
        page.close()
        phone.page = phone.context.new_page()

        phone.open("/field/phone/")

        assert phone.states() == []


def test_without_a_meaning_of_faults_an_entry_is_given_up_by_one_fault_of_the_server(without, held):
    without(RULES, 'return status === 403 ? { kind: "token" } : NO_ANSWER', 'return { kind: "refused" }')

    assert sent_with(held(), status=500, body="<h1>Error</h1>", content_type="text/html") == ["parked"]


def test_without_parking_what_is_refused_is_sent_for_ever_and_nobody_hears_why(without, held):
    without(RULES, 'status !== 429 ? { kind: "refused", ...json }', "status !== 429 ? NO_ANSWER")
    phone = held()
    said = {"code": "no_role", "text": "Your role does not allow it."}

    assert sent_with(phone, status=403, json=said) == ["waiting"]
    phone.open("/field/phone/")
    assert phone.page.get_by_text("Your role does not allow it.").count() == 0


def test_without_the_comparison_of_contents_another_entry_under_the_same_id_is_lost_unseen(held, monkeypatch):
    monkeypatch.setattr(dispatch.Sending, "digest", "the same for all")
    phone = held()
    record_on_line(phone, "first")
    (entry,) = phone.entries()
    with phone.without_signal():
        record_cleaning(phone, phone.surface, "second")
    phone.page.evaluate(
        """async (id) => {
          const store = await import("/static/js/queue/store.js")
          const second = (await store.entries()).find((each) => each.id !== id)
          await store.forget(second.id)
          await store.keepEntries([{ ...second, id }])
        }""",
        entry["id"],
    )
    phone.send()

    assert phone.states() == ["sent"]
    assert list(CleaningEvent.objects.values_list("note", flat=True)) == ["first"]


def record_on_line(phone, note):
    page = phone.open(cleaning_of(phone.surface))
    fill_cleaning(page, note=note)
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()


def test_without_dividing_photos_that_are_too_much_at_once_are_not_sent(without, held, firm, large_photo):
    without(RULES, 'if (status === 413) return { kind: "tooLarge" }')
    surface = SurfaceFactory(site=firm.site)
    phone = held()
    page = phone.open(f"/surfaces/{surface.pk}/files/new/")
    answered(page, status=413, json={"text": "Too much."})
    page.get_by_label("Photos, a video or PDFs").set_input_files([large_photo] * 2)
    page.get_by_role("button", name="Add them").click()

    phone.await_states(parked=1)
    assert not surface.attachments.exists()


def test_without_a_look_at_the_answer_a_sign_in_page_counts_as_stored(without, held):
    without(
        RULES,
        "if (json === null)",
        'if (status === 200) return { kind: "stored", url: "/" }\n  if (json === null)',
    )

    assert sent_with(held(), status=200, body="<h1>Sign in</h1>", content_type="text/html") == ["sent"]
    assert not CleaningEvent.objects.exists()


def test_without_memory_of_ids_what_is_sent_twice_is_stored_twice(held, monkeypatch):
    """A server that forgets the entry, as one that would go by the row alone, and makes each row's id itself."""
    monkeypatch.setattr(dispatch, "find_entry", lambda entry_id: None)
    with_id = dispatch.with_id
    monkeypatch.setattr(dispatch, "with_id", lambda fields, entry_id: with_id(fields, uuid4()))
    phone = held()

    def stored_and_lost(route):
        route.fetch()
        FieldEntry.objects.all().delete()
        route.abort()

    with phone.without_signal():
        record_cleaning(phone, phone.surface)
        phone.page.route(ENTRY, stored_and_lost)
    phone.send()
    phone.page.unroute(ENTRY)
    phone.send()

    assert CleaningEvent.objects.count() == 2


def test_without_a_fresh_token_an_old_page_sends_nothing(without, held):
    without("queue/send.js", 'if (answer.kind === "token") {', "if (false) {")

    assert sent_with(held(), status=403, body="<h1>CSRF</h1>", content_type="text/html") == ["waiting"]
    assert not CleaningEvent.objects.exists()


def test_without_asking_whose_it_is_one_person_sends_in_the_name_of_another(
    without, held, firm, live_server, monkeypatch
):
    without(RULES, "&& entry.person === person && hasParent(entry)", "&& hasParent(entry)")
    phone = held()
    with phone.without_signal():
        record_cleaning(phone, phone.surface, "of the technician")
    monkeypatch.setattr(entries, "read", read_without_person(entries.read, firm.coordinator))
    let_in(phone.context, firm.coordinator, live_server.url)
    phone.open("/field/phone/")
    phone.send()

    assert CleaningEvent.objects.get().recorded_by == firm.coordinator


def read_without_person(read, person):
    """The server's own look at whose an entry is, taken out as well."""
    return lambda kind, sent: read(kind, json.dumps(json.loads(sent) | {"person": str(person.pk)}))


def test_without_word_of_a_full_phone_it_says_kept_and_holds_nothing(without, held):
    keeping = "await withRoom(() => store.keepEntries(states, this.draftKey()))"
    without("queue/form.js", keeping, f"{keeping}.catch(() => {{}})")
    phone = held()
    page = phone.open(cleaning_of(phone.surface))
    fill_cleaning(page, note="no room")
    page.evaluate(FULL)
    with phone.without_signal():
        phone.save(SAVE)

    assert phone.states() == []


def test_without_telling_what_is_held_the_office_misses_nothing_of_a_cleared_phone(
    without, held, live_server
):
    without("queue/send.js", "held: heldOf(entries, person()),", "held: [],")
    phone = held()
    answered(phone.page, status=503, body="")
    record_cleaning(phone, phone.surface, "lost")
    phone.send()
    session = phone.context.new_cdp_session(phone.page)
    session.send("Storage.clearDataForOrigin", {"origin": live_server.url, "storageTypes": "indexeddb"})
    phone.open("/field/phone/")
    phone.send()

    assert not HeldEntry.objects.exists()


def test_without_letting_go_an_older_tab_blocks_a_newer_page(without, held):
    without("queue/store.js", "request.result.onversionchange = () => (request.result.close(), forget())")
    phone = held()
    phone.entries()  # opens the database
    newer = phone.context.new_page()
    newer.goto("/field/phone/")

    blocked = newer.evaluate(
        """() => new Promise((resolve) => {
          const request = indexedDB.open("rainthrough-field", 2)
          request.onblocked = () => resolve(true)
          request.onsuccess = () => resolve(false)
        })"""
    )
    assert blocked


def test_without_the_offset_of_its_clock_a_phone_dates_work_two_days_too_early(held, firm, monkeypatch):
    monkeypatch.setattr(Stamps, "offset", timedelta(0))
    phone = held()
    phone.page.clock.set_system_time(now() - timedelta(days=2))
    with phone.without_signal():
        record_cleaning(phone, phone.surface)
    phone.send()

    assert CleaningEvent.objects.get().cleaned_on == firm.site.today() - timedelta(days=2)


def test_without_lanes_a_refused_test_of_one_round_holds_back_those_of_another(without, held, firm):
    without(
        RULES,
        "  return free(entries, person)\n    .filter((entry) => isDue(entry, now))",
        "  if (entries.some((entry) => entry.state === PARKED)) return []\n"
        "  return free(entries, person)\n    .filter((entry) => isDue(entry, now))",
    )
    phone = held()
    gone, there = (RoundFactory(surface=firm.surface, hours_since_rain=72.0) for _ in range(2))
    for round_ in (gone, there):
        phone.open(f"/rounds/{round_.pk}/tests/new/")
        with phone.without_signal():
            fill_ring(phone.page, "60")
            phone.save("Save the test")
            if round_ == gone:
                rounds.void_round(round_=gone, by=firm.coordinator, reason="Wrong surface.")
    phone.send()

    assert phone.states() == ["parked", "waiting"]
    assert not InfiltrationTest.objects.exists()


def test_without_making_them_small_a_phone_sends_photos_as_they_were_taken(without, held, firm, large_photo):
    without("queue/photos.js", "await smaller(file))", "file)")
    surface = SurfaceFactory(site=firm.site)
    phone = held()
    page = phone.open(f"/surfaces/{surface.pk}/files/new/")
    page.get_by_label("Photos, a video or PDFs").set_input_files([large_photo])
    page.get_by_role("button", name="Add them").click()
    until(page, "async () => (await (await import('/static/js/queue/store.js')).entries()).length > 0")

    with Image.open(large_photo) as taken:
        assert max(taken.size) > 2400
    assert phone.entries()[0]["files"][0]["size"] == large_photo.stat().st_size


@pytest.mark.parametrize("guarded", [True, False], ids=["as it is", "without the lock"])
def test_two_tabs_send_each_entry_once_by_their_lock(without, held, guarded):
    if not guarded:
        without(
            "queue/send.js",
            "await navigator.locks.request(LOCK, { ifAvailable: !force }, (lock) => lock && pass(force))",
            "await pass(force)",
        )
    phone = held()
    with phone.without_signal():
        record_cleaning(phone, phone.surface)
        other = Phone(phone.context.new_page())
        other.open("/field/phone/")
        sendings, answers = [], []
        # Before there is signal again: a phone sends by itself as soon as there is.
        phone.context.route(ENTRY, lambda route: held_back(route, sendings, answers))
    for page in (phone.page, other.page):
        page.evaluate("() => void import('/static/js/queue/send.js').then((send) => send.drainNow())")
    phone.page.wait_for_timeout(1500)
    for route in answers:
        route.continue_()
    phone.await_states(sent=1)
    settle(other.page)

    assert (len(sendings) == 1) == guarded


def held_back(route, sendings, answers):
    """Note that it was sent, and let it on its way only when both tabs have had their time."""
    sendings.append(route.request.url)
    answers.append(route)
