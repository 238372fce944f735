"""A construction record in a real browser: a hold point that fails, is corrected, checked again, and one waived."""

import pytest

from qa.models import CheckEntry, ConstructionRecord
from qa.services import assembly
from tests.browser.conftest import press, until
from tests.core.services.test_uploads import photo
from tests.factories import LayerFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def record(firm):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=100.0)
    return assembly.open_record(
        record=ConstructionRecord(surface=firm.surface), parts=["base"], by=firm.coordinator
    )


def test_a_failed_hold_point_stops_the_work_until_it_is_put_right_and_checked_again(
    firm, record, open_page, accessible, tmp_path
):
    picture = tmp_path / "marks.jpg"
    picture.write_bytes(photo(size=(320, 240)))
    page = open_page(firm.technician, record.get_absolute_url())
    accessible(page)

    page.get_by_role("link", name="Check it now").click()
    page.get_by_role("heading", name="Utilities are located and marked.").wait_for()
    accessible(page)
    page.get_by_label("No", exact=True).check()
    page.get_by_label("Photos or PDFs").set_input_files(str(picture))
    press(page, "Save the finding")
    page.get_by_text("Not as asked: Utilities").wait_for()
    accessible(page)
    shown = page.locator(".pictures img")
    shown.scroll_into_view_if_needed()
    until(page, "[...document.querySelectorAll('.pictures img')].every(i => i.naturalWidth > 0)")

    page.goto(record.get_absolute_url())
    assert page.get_by_text("waits for a hold point").count() > 5
    page.get_by_role("link", name="See what failed").click()
    page.get_by_role("link", name="Say what was done about it").click()
    accessible(page)
    page.get_by_label("What was done").fill("Called the service; gas and water are marked.")
    page.get_by_label("Who did it").fill("Crew north")
    page.get_by_role("button", name="Save, then check again").click()
    page.get_by_role("link", name="Check again").click()
    accessible(page)
    page.get_by_label("Yes, as asked").check()
    press(page, "Save the finding")

    page.get_by_role("heading", name="Muddy runoff is kept out of the excavation.").wait_for()
    assert list(CheckEntry.objects.order_by("created_at").values_list("outcome", flat=True)) == [
        "failed",
        "passed",
    ]
    page.goto(record.get_absolute_url())
    assert page.get_by_text("1 of").first.is_visible()
    page.get_by_text("Subgrade", exact=True).click()
    page.get_by_role("link", name="The subgrade is trimmed").click()
    press(page, "Check it now", role="link")
    assert not page.get_by_text("A hold point stops this stage").is_visible()


def test_a_coordinator_waives_a_hold_point_and_it_shows_in_record_and_handover(
    firm, record, open_page, accessible
):
    page = open_page(firm.coordinator, record.get_absolute_url())
    page.get_by_role("link", name="Utilities are located and marked.").click()
    page.get_by_role("link", name="Waive it…").click()
    accessible(page)
    page.get_by_label("Reason").fill("No ground is opened here.")
    page.get_by_role("button", name="Waive it").click()
    page.get_by_text("No ground is opened here.").first.wait_for()
    accessible(page)

    page.goto(record.get_absolute_url())
    assert page.get_by_text("No ground is opened here.").is_visible()
    page.get_by_role("link", name="Handover record").click()
    page.get_by_role("heading", name="Handover record", exact=True).wait_for()
    accessible(page)
    assert page.get_by_text("No ground is opened here.").is_visible()
    with page.expect_download() as download:
        page.get_by_role("link", name="Download the PDF").click()
    assert download.value.suggested_filename.startswith("handover-")


def test_a_technician_is_told_who_may_waive(firm, record, open_page):
    page = open_page(firm.technician, record.get_absolute_url())

    press(page, "Utilities are located and marked.", role="link")

    assert page.get_by_text("Only a coordinator may waive a check or leave out a hold point.").is_visible()
    assert page.get_by_role("link", name="Waive it…").count() == 0
