"""Field work without signal: what is recorded on a phone is never lost, sent twice or sent under another name."""

from datetime import timedelta

import numpy as np
import pytest
from django.utils.timezone import now
from PIL import Image

from core.calc.paving import TestMethod
from fieldwork.models import FieldEntry, HeldEntry
from fieldwork.selectors import kept_pages
from maintenance.models import CleaningEvent
from qa.models import CheckEntry, InfiltrationTest, TestRound
from qa.services import rounds
from tests.browser.conftest import DESK, let_in, settle, until
from tests.browser.guards import without
from tests.browser.phone import SEND, STORE, Phone, fill, fill_cleaning, fill_ring
from tests.factories import ConstructionCheckFactory, LocationFactory, RoundFactory, SurfaceFactory

__all__ = ["without"]
pytestmark = pytest.mark.django_db(transaction=True)

ENTRY = "**/field/entries/**"
SAVE = "Save the cleaning"
DRAFT = f"""async () => {{
  const key = `${{document.body.dataset.person}} ${{location.pathname}}`
  return Boolean(await (await import('{STORE}')).draft(key))
}}"""
NO_ROOM_FOR_FILES = """() => {
  const put = IDBObjectStore.prototype.put
  IDBObjectStore.prototype.put = function (value) {
    if (this.name === "files") throw new DOMException("no room", "QuotaExceededError")
    return put.call(this, value)
  }
}"""
FULL = "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('no room', 'QuotaExceededError') } }"


def cleaning_of(surface):
    return f"/surfaces/{surface.pk}/cleanings/new/"


@pytest.fixture
def places(firm):
    return [LocationFactory(surface=firm.surface, label=label) for label in "AB"]


@pytest.fixture
def phone(firm, places, open_page, monkeypatch, workers_elsewhere, keeps_pages):
    """A technician's phone that keeps the pages of the firm's surface, of which tests here need a few.

    A whole day's pages are kept in test_day_without_signal.py.
    """
    monkeypatch.setattr(kept_pages, "TestMethod", [TestMethod.RING])
    monkeypatch.setattr(kept_pages, "FORMS_OF_SURFACE", ["qa:round-create", "maintenance:cleaning-create"])
    held = Phone(open_page(firm.technician, "/field/phone/"))
    held.page.clock.install(time=now())  # as the server's, unless a test sets it wrong
    held.open(firm.surface.get_absolute_url())
    held.page.get_by_role("button", name="Keep on this phone").click()
    held.keep(
        cleaning_of(firm.surface),
        f"/field/surfaces/{firm.surface.pk}/tests/new/?method=ring",
        "/field/phone/",
    )
    return held


def record_cleaning(phone, surface, note="", button=SAVE):
    page = phone.open(cleaning_of(surface))
    fill_cleaning(page, note=note)
    phone.save(button)


def test_with_signal_a_form_is_kept_sent_and_its_page_shown_at_once(firm, phone):
    page = phone.open(cleaning_of(firm.surface))
    fill_cleaning(page)
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()

    page.get_by_text("stored.").wait_for()
    assert page.url.endswith(firm.surface.get_absolute_url())
    assert phone.states() == ["sent"]
    assert FieldEntry.objects.get().person == firm.technician
    assert CleaningEvent.objects.get().recorded_by == firm.technician


def test_what_the_server_refuses_with_signal_is_said_beside_its_field_and_stored_once_mended(
    firm, phone, accessible
):
    page = phone.open(cleaning_of(firm.surface))
    fill_cleaning(page, cleaned_on=(now() + timedelta(days=9)).date().isoformat())
    page.get_by_role("button", name=SAVE).click()

    page.get_by_role("alert").get_by_text("is in the future at the site").wait_for()
    accessible(page)
    assert (
        page.locator(".field", has=page.locator("[name=cleaned_on]"))
        .get_by_text("in the future")
        .is_visible()
    )
    assert not CleaningEvent.objects.exists()
    page.locator("[name=cleaned_on]").fill(firm.site.today().isoformat())
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()

    assert phone.states() == ["sent"]
    assert CleaningEvent.objects.count() == 1
    assert not HeldEntry.objects.exists()  # nothing that the office would look for


def test_a_second_tap_and_a_step_back_store_nothing_twice(firm, phone):
    page = phone.open(cleaning_of(firm.surface))
    fill_cleaning(page)
    page.evaluate("document.querySelector('form[data-edit-guard]').requestSubmit()")
    with page.expect_navigation():
        page.evaluate("document.querySelector('form[data-edit-guard]').requestSubmit()")
    page.go_back()
    settle(page)
    fill_cleaning(page)
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()
    page.get_by_text("stored.").wait_for()

    # A page fetched anew has another id: what is saved there is another cleaning, as it is without a queue.
    assert CleaningEvent.objects.count() == len(phone.entries()) <= 2


def test_photos_that_find_no_room_leave_the_readings_stored_once(firm, phone, large_photo):
    page = phone.open(f"/checks/{ConstructionCheckFactory(record__surface=firm.surface).pk}/record/")
    fill(page, reading="yes")
    page.locator("[name=photos]").set_input_files([large_photo])
    page.evaluate(NO_ROOM_FOR_FILES)
    page.get_by_role("button", name="Save the finding").click()

    phone.await_states(sent=1, parked=1)
    assert CheckEntry.objects.count() == 1


def test_a_round_and_its_tests_wait_without_signal_and_arrive_whole_and_in_order(
    firm, places, phone, accessible
):
    with phone.without_signal():
        page = phone.open(f"/surfaces/{firm.surface.pk}/rounds/new/")
        assert page.get_by_text("as it was kept on this phone").is_visible()
        fill(page, hours_since_rain="72")
        phone.save("Go on to the tests")
        accessible(page)
        page.get_by_role("link", name=TestMethod.RING.label).click()
        settle(page)
        for seconds in ("60", "90"):
            fill_ring(page, seconds)
            phone.save("Save the test")
            page.get_by_role("link", name="Next test of this round").click()
            settle(page)
        assert not TestRound.objects.exists()
        phone.open("/field/phone/")
        accessible(page)
        assert page.get_by_text("3 to send").first.is_visible()
    phone.send()

    phone.await_states(sent=3)
    round_ = TestRound.objects.get()
    tests = list(InfiltrationTest.objects.filter(round=round_))
    assert [test.elapsed_s for test in tests] == [60.0, 90.0]
    assert [test.location for test in tests] == places
    assert tests[0].made_at < tests[1].made_at
    assert not page.locator("[data-queue-count]").is_visible()


def test_no_answer_of_a_server_or_of_the_network_between_loses_an_entry_or_stores_it_twice(firm, phone):
    page = phone.page
    answers = iter(
        [
            lambda route: route.fulfill(status=500, body="<h1>Error</h1>", content_type="text/html"),
            lambda route: route.fulfill(status=200, body="<h1>Sign in</h1>", content_type="text/html"),
            lambda route: route.fulfill(status=302, headers={"Location": "/sign-in/login/"}),
            lambda route: (route.fetch(), route.abort()),  # stored, and the answer lost
        ]
    )

    def answered(route):
        answer = next(answers, None)
        if answer:
            answer(route)
        else:
            route.continue_()

    page.route(ENTRY, answered)
    record_cleaning(phone, firm.surface)  # the server's fault
    for _ in range(3):
        assert phone.states() == ["waiting"]
        phone.send()
    assert phone.states() == ["waiting"]
    assert CleaningEvent.objects.count() == 1
    phone.send()

    assert phone.states() == ["sent"]
    assert CleaningEvent.objects.count() == 1


def with_an_old_token_once():
    """What answers who is signed in, the first time with a token of a form that no longer holds."""
    tokens = iter(["x" * 64])

    def answered(route):
        if token := next(tokens, None):
            response = route.fetch()
            route.fulfill(response=response, json=response.json() | {"token": token})
        else:
            route.continue_()

    return answered


def test_an_old_form_token_is_replaced_and_a_lost_session_waits_for_the_sign_in(firm, phone):
    page, context = phone.page, phone.context
    with phone.without_signal():
        record_cleaning(phone, firm.surface, "first")
        page.route("**/field/who/", with_an_old_token_once())
    phone.send()
    assert phone.states() == ["sent"]
    page.unroute("**/field/who/")

    with phone.without_signal():
        record_cleaning(phone, firm.surface, "second")
        context.clear_cookies(name="sessionid")
    phone.send()
    assert phone.states() == ["sent", "waiting"]
    let_in(context, firm.technician, page.url.partition("/surfaces")[0])
    phone.send()

    assert phone.states() == ["sent", "sent"]
    assert set(CleaningEvent.objects.values_list("note", flat=True)) == {"first", "second"}


def test_another_person_on_the_same_phone_sends_nothing_of_the_first(firm, phone, live_server):
    with phone.without_signal():
        record_cleaning(phone, firm.surface, "of the technician")
        # Before there is signal: with it the phone sends at once.
        let_in(phone.context, firm.coordinator, live_server.url)
    page = phone.open("/field/phone/")
    phone.send()
    assert phone.states() == ["waiting"]
    assert page.get_by_text("1 of somebody else").is_visible()
    record = phone.open(cleaning_of(firm.surface))
    fill_cleaning(record, note="of the coordinator")
    with record.expect_navigation():
        record.get_by_role("button", name=SAVE).click()
    let_in(phone.context, firm.technician, live_server.url)
    phone.open("/field/phone/")
    phone.send()

    phone.await_states(sent=2)
    by = dict(CleaningEvent.objects.values_list("note", "recorded_by"))
    assert by == {"of the technician": firm.technician.pk, "of the coordinator": firm.coordinator.pk}


def test_a_round_set_aside_meanwhile_parks_its_test_alone_and_a_person_sees_why(firm, phone, accessible):
    gone, there = (RoundFactory(surface=firm.surface, hours_since_rain=72.0) for _ in range(2))
    page = phone.page
    for round_ in (gone, there):
        phone.open(f"/rounds/{round_.pk}/tests/new/")
        with phone.without_signal():
            fill_ring(page, "60")
            phone.save("Save the test")
            if round_ == gone:
                rounds.void_round(round_=gone, by=firm.coordinator, reason="Wrong surface.")
    phone.send()

    assert sorted(phone.states()) == ["parked", "sent"]
    assert InfiltrationTest.objects.get().round == there
    phone.open("/field/phone/")
    accessible(page)
    assert page.get_by_text("refused", exact=True).is_visible()
    assert page.get_by_role("link", name="Open and mend").is_visible()


def test_a_test_that_would_not_count_asks_and_is_kept_as_it_is_in_one_press(firm, phone):
    round_ = RoundFactory(surface=firm.surface, hours_since_rain=72.0)
    page = phone.open(f"/rounds/{round_.pk}/tests/new/")
    with phone.without_signal():
        fill_ring(page, "60", prewet_mass="1")
        phone.save("Save the test")
    phone.send()
    assert phone.states() == ["parked"]
    phone.open("/field/phone/")
    page.get_by_role("button", name="Keep it as it is").click()

    phone.await_states(sent=1)
    assert InfiltrationTest.objects.get().prewet_mass == 1


def test_what_was_refused_is_opened_mended_and_stored_once(firm, phone):
    page = phone.page
    with phone.without_signal():
        page = phone.open(cleaning_of(firm.surface))
        fill_cleaning(page, cleaned_on=(now() + timedelta(days=9)).date().isoformat(), note="mended")
        phone.save(SAVE)
    phone.send()
    assert phone.states() == ["parked"]
    phone.open("/field/phone/")
    page.get_by_role("link", name="Open and mend").click()
    settle(page)
    assert page.locator("[name=note]").input_value() == "mended"
    page.locator("[name=cleaned_on]").fill(firm.site.today().isoformat())
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()

    assert phone.states() == ["sent"]
    assert CleaningEvent.objects.get().note == "mended"


def test_two_tabs_send_at_once_and_the_office_hears_what_a_cleared_phone_lost(firm, phone, live_server):
    with phone.without_signal():
        record_cleaning(phone, firm.surface, "one")
        record_cleaning(phone, firm.surface, "two")
        other = Phone(phone.context.new_page())
        other.open("/field/phone/")
        assert len(other.entries()) == 2
    for page in (phone.page, other.page):
        page.evaluate(SEND.replace("async () => (", "async () => void ("))
    phone.await_states(sent=2)
    assert CleaningEvent.objects.count() == 2
    other.page.close()

    refuse = lambda route: route.fulfill(status=503, body="")  # noqa: E731
    phone.page.route(ENTRY, refuse)
    record_cleaning(phone, firm.surface, "lost")
    phone.send()  # the server is told what is held, though it takes nothing
    session = phone.context.new_cdp_session(phone.page)
    session.send("Storage.clearDataForOrigin", {"origin": live_server.url, "storageTypes": "indexeddb"})
    phone.open("/field/phone/")
    phone.page.unroute(ENTRY)
    phone.send()

    office = Phone(phone.page)
    let_in(phone.context, firm.coordinator, live_server.url)
    page = office.open("/field/phones/")
    assert page.get_by_text("Record a cleaning").first.is_visible()
    assert page.get_by_text("after its storage was cleared").is_visible()


def test_a_full_phone_says_so_and_keeps_what_was_typed_on_the_page(firm, phone):
    page = phone.open(cleaning_of(firm.surface))
    fill_cleaning(page, note="no room")
    page.evaluate(FULL)
    with phone.without_signal():
        page.get_by_role("button", name=SAVE).click()
        page.get_by_text("This phone could not keep it").wait_for()
    assert page.locator("[name=note]").input_value() == "no room"
    with page.expect_navigation():
        page.get_by_role("button", name=SAVE).click()  # with signal it goes the plain way

    assert CleaningEvent.objects.get().note == "no room"


def test_a_newer_page_waits_for_an_older_tab_and_no_entry_is_lost(firm, phone):
    with phone.without_signal():
        record_cleaning(phone, firm.surface)
        newer = phone.context.new_page()
        newer.goto("/field/phone/")
        count = newer.evaluate(
            """() => new Promise((resolve, reject) => {
              const request = indexedDB.open("rainthrough-field", 2)
              request.onerror = () => reject(request.error)
              request.onsuccess = () => {
                const all = request.result.transaction("entries").objectStore("entries").getAll()
                all.onsuccess = () => { request.result.close(); resolve(all.result.length) }
              }
            })"""
        )
    assert count == 1


def test_a_clock_two_days_off_is_corrected_and_both_times_are_kept(firm, phone):
    page = phone.page
    page.clock.set_system_time(now() + timedelta(days=2))
    with phone.without_signal():
        page = phone.open(cleaning_of(firm.surface))
        fill_cleaning(page)
        day_shown = page.locator("[name=cleaned_on]").input_value()
        phone.save(SAVE)
    phone.send()

    phone.await_states(sent=1)
    entry = FieldEntry.objects.get()
    assert entry.offset_s == pytest.approx(-2 * 86_400, abs=600)
    assert CleaningEvent.objects.get().cleaned_on == firm.site.today()
    assert day_shown != firm.site.today().isoformat()


def test_large_photos_are_made_small_on_the_phone_and_follow_the_finding(firm, phone, large_photo):
    surface = SurfaceFactory(site=firm.site)
    page = phone.open(f"/surfaces/{surface.pk}/files/new/")
    page.get_by_label("Photos, a video or PDFs").set_input_files([large_photo] * 3)
    several = lambda route: route.request.post_data_buffer.count(b'name="photos"') > 1  # noqa: E731
    page.route(
        ENTRY, lambda route: route.fulfill(status=413, body="") if several(route) else route.continue_()
    )
    page.get_by_role("button", name="Add them").click()
    phone.await_states(sent=3)

    files = list(surface.attachments.order_by("created_at"))
    assert len(files) == 3
    assert max(max(Image.open(each.content).size) for each in files) <= 2400


@pytest.fixture
def large_photo(tmp_path):
    """A photo of 12 MB, as a telephone takes it."""
    path = tmp_path / "court.jpg"
    noise = np.random.default_rng(1).integers(0, 255, (3000, 4000, 3), dtype=np.uint8)
    Image.fromarray(noise).save(path, "JPEG", quality=95)
    assert path.stat().st_size > 12_000_000
    return path


def test_a_form_begun_and_left_is_offered_again(firm, phone):
    page = phone.open(cleaning_of(firm.surface))
    page.locator("[name=note]").press_sequentially("half typed")
    until(page, DRAFT)
    page.on("dialog", lambda dialog: dialog.accept())
    phone.open(cleaning_of(firm.surface))
    page.get_by_role("button", name="Fill it in again").click()

    assert page.locator("[name=note]").input_value() == "half typed"


def test_a_copy_of_what_a_phone_holds_is_taken_in_by_the_office_and_stored_once(
    firm, phone, open_page, tmp_path, accessible_by_day_and_night
):
    with phone.without_signal():
        record_cleaning(phone, firm.surface, "on the phone")
        page = phone.open("/field/phone/")
        with page.expect_download() as saved:
            page.get_by_role("button", name="Save a copy for the office").click()
    copy = tmp_path / saved.value.suggested_filename
    saved.value.save_as(copy)

    office = open_page(firm.coordinator, "/field/phones/take-in/", size=DESK)
    for state in ("Stored", "Was there already"):
        office.get_by_label("Copy from a phone").set_input_files(copy)
        with office.expect_navigation():
            office.get_by_role("button", name="Take it in").click()
        assert office.get_by_text(state).first.is_visible()
        accessible_by_day_and_night(office)
    phone.send()

    assert phone.states() == ["sent"]
    assert CleaningEvent.objects.get().recorded_by == firm.technician


def test_a_copy_that_would_be_too_large_comes_in_several_files_that_hold_everything_once(phone, without):
    without("queue/copy.js", "const MOST_BYTES = 40_000_000", "const MOST_BYTES = 1_000")
    phone.open("/field/phone/")
    held = phone.page.evaluate(
        """async () => {
          const store = await import("/static/js/queue/store.js")
          const { copiesOf } = await import("/static/js/queue/copy.js")
          const person = document.body.dataset.person
          for (const number of [1, 2, 3]) {
            const id = crypto.randomUUID()
            const files = [{ field: "photos", name: "a.jpg", type: "image/jpeg", number: 0, size: 600 }]
            const entry = { id, person, number, files, state: "keeping", path: "/", madeAt: `2026-06-0${number}` }
            await store.keepEntries([{ ...entry, title: "", about: "", fields: [] }])
            const kept = [{ ...files[0], bytes: new Uint8Array(600).buffer }]
            await store.keepFiles(id, kept, (there) => ({ ...there, state: "parked" }))
          }
          return (await copiesOf(person)).map((copy) => copy.entries.map((each) => each.files.length))
        }"""
    )

    assert held == [[1], [1], [1]]
