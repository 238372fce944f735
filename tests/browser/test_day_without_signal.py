"""A whole day without signal, the phone killed twice, sent at night: every row is there, once, as it was recorded."""

import os
import signal
from contextlib import suppress
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Error

from fieldwork.models import FieldEntry
from maintenance.models import CleaningEvent
from planning.models import VisitTask
from qa.models import Attachment, InfiltrationTest, Inspection, TestRound
from tests.browser.conftest import ARGUMENTS, CHROMIUM, PATIENCE_MS, PHONE, let_in, settle
from tests.browser.phone import Phone, fill, fill_cleaning, fill_ring
from tests.clock import TODAY
from tests.factories import CrewFactory, LocationFactory, SurfaceFactory, VisitFactory, VisitTaskFactory

pytestmark = pytest.mark.django_db(transaction=True)

TIMES_S = (("61", "72", "83"), ("64", "75", "86"), ("67", "78", "89"))


class KilledPhone(Phone):
    """A phone with a disk of its own, which can be taken out of its hands in the middle."""

    def __init__(self, chromium, folder: Path, user, url: str):
        self.kind, self.folder, self.user, self.url = chromium.browser_type, folder, user, url
        self.start()

    def start(self, *, offline: bool = False) -> None:
        self.context = self.kind.launch_persistent_context(
            self.folder,
            executable_path=CHROMIUM,
            args=list(ARGUMENTS),
            base_url=self.url,
            viewport=PHONE,
            offline=offline,
            timeout=PATIENCE_MS,
            locale="en-GB",
            timezone_id="UTC",
        )
        self.context.set_default_timeout(PATIENCE_MS)
        self.page = self.context.pages[0]
        let_in(self.context, self.user, self.url)

    def kill(self) -> None:
        """As when the battery is gone: no page is told, nothing is written any more."""
        for pid in _processes_of(self.folder):
            os.kill(pid, signal.SIGKILL)
        with suppress(Error):  # there is nobody left to close it
            self.context.close()
        (self.folder / "SingletonLock").unlink(missing_ok=True)
        self.start(offline=True)
        self.open("/field/phone/")


def _processes_of(folder: Path) -> list[int]:
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            command = path.read_bytes()
        except OSError:
            continue  # it ended meanwhile
        if str(folder).encode() in command and b"chrom" in command:
            found.append(int(path.parent.name))
    return found


@pytest.fixture
def surfaces(firm):
    """Four visits of today, each to a surface with three spots."""
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.add(firm.technician)
    made = [SurfaceFactory(site=firm.site, name=f"Court {number}") for number in range(1, 5)]
    for surface, actions in zip(made, ("test", "test", "clean", "test clean inspect"), strict=True):
        visit = VisitFactory(crew=crew, visit_on=TODAY, organisation=firm.organisation)
        for label in "ABC":
            LocationFactory(surface=surface, label=label)
        for action in actions.split():
            VisitTaskFactory(
                visit=visit, surface=surface, action=action, method="vacuum" if action == "clean" else ""
            )
    return made


def photo(number: int) -> dict:
    picture = BytesIO()
    Image.new("RGB", (1600, 1200), (40 * number, 90, 120)).save(picture, "JPEG")
    return {"name": f"photo {number}.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}


def test_a_day_of_four_visits_without_signal_arrives_whole_at_night(
    firm, surfaces, chromium, live_server, tmp_path, keeps_pages
):
    phone = KilledPhone(chromium, tmp_path / "phone", firm.technician, live_server.url)
    phone.open("/")
    last = f"/field/surfaces/{surfaces[3].pk}/tests/new/?method=square_double_ring"
    phone.keep("/my-day/", last, *(f"/surfaces/{surface.pk}/rounds/new/" for surface in surfaces))

    with phone.without_signal():
        _test_three(phone, surfaces[0], TIMES_S[0])
        _test_three(phone, surfaces[1], TIMES_S[1], killed_after=2)
        _clean(phone, surfaces[2])
        page = phone.open(f"/surfaces/{surfaces[2].pk}/files/new/")
        page.locator("[name=photos]").set_input_files([photo(number) for number in (1, 2, 3)])
        phone.save("Add them")
        _test_three(phone, surfaces[3], TIMES_S[2])
        _clean(phone, surfaces[3])
        _inspect(phone, surfaces[3])
        phone.kill()
        assert len(phone.entries()) == 3 + 9 + 2 + 1 + 1
        assert not FieldEntry.objects.exists()
    phone.open("/field/phone/")
    phone.send()
    phone.await_states(sent=16)
    phone.context.close()

    _compare(firm, surfaces)


def _test_three(phone, surface, times, killed_after=0):
    page = phone.open(f"/surfaces/{surface.pk}/rounds/new/")
    fill(page, hours_since_rain="72")
    phone.save("Go on to the tests")
    page.get_by_role("link", name="Constant-head single ring").click()
    settle(page)
    for number, seconds in enumerate(times, start=1):
        fill_ring(page, seconds)
        phone.save("Save the test")
        again = page.url
        if number == killed_after:
            phone.kill()
            page = phone.page
        phone.open(again.removeprefix(phone.url))


def _clean(phone, surface):
    page = phone.open(f"/surfaces/{surface.pk}/cleanings/new/")
    fill_cleaning(page, material_out_kg="12")
    phone.save("Save the cleaning")


def _inspect(phone, surface):
    page = phone.open(f"/surfaces/{surface.pk}/inspections/new/")
    page.locator("details", has=page.locator('[name="ponding-answer"]')).first.evaluate(
        "each => (each.open = true)"
    )
    page.locator('[name="ponding-answer"][value="wrong"]').check()
    fill(page, **{"ponding-what": "Water stands by the gate", "ponding-where": "Gate"})
    page.locator('[name="ponding-severity"]').first.check()
    page.locator('[name="ponding-photos"]').set_input_files([photo(number) for number in (4, 5, 6)])
    for group in page.locator('input[name^="all_"]').all():
        group.check()
    phone.save("Save the inspection")


def _compare(firm, surfaces):
    """Row by row with what was done."""
    assert FieldEntry.objects.count() == 16
    tested = [surfaces[0], surfaces[1], surfaces[3]]
    assert {round_.surface for round_ in TestRound.objects.all()} == set(tested)
    for surface, times in zip(tested, TIMES_S, strict=True):
        tests = InfiltrationTest.objects.filter(round__surface=surface)
        assert [f"{test.elapsed_s:g}" for test in tests] == list(times)
        assert [test.location.label for test in tests] == ["A", "B", "C"]
        assert {test.recorded_by for test in tests} == {firm.technician}
        assert {test.round.tested_on for test in tests} == {
            TODAY
        }  # the phone's clock is months ahead of the server's
    assert {(event.surface, event.material_out_kg) for event in CleaningEvent.objects.all()} == {
        (surfaces[2], 12.0),
        (surfaces[3], 12.0),
    }
    inspection = Inspection.objects.get()
    assert inspection.inspected_on == TODAY
    finding = inspection.findings.get()
    assert (finding.what, finding.attachments.count()) == ("Water stands by the gate", 3)
    assert surfaces[2].attachments.count() == 3
    assert Attachment.objects.count() == 6
    assert not VisitTask.objects.filter(ended_at=None).exists()
