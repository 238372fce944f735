"""What one is told, read and chosen on a phone and a desk, by keyboard; axe finds nothing in light and dark."""

import pytest

from accounts.calc.notices import NoticeKind
from accounts.models import Notice, NoticeSettings
from accounts.services.telling import News, tell_firm
from tests.browser.conftest import DESK, PHONE, press

pytestmark = pytest.mark.django_db(transaction=True)
SIZES = pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])


@pytest.fixture
def told(firm):
    """Two things, of which one was read."""
    for text in ("The north yard is below its limit with a chance of 64 %.", "A long ago read one."):
        path = firm.surface.get_absolute_url()
        tell_firm(news=News(NoticeKind.LIMIT, firm.organisation, firm.surface, text, path, text))
    Notice.objects.filter(text__startswith="A long").update(read_at="2026-01-01T12:00Z")
    return firm


def fits(page, size):
    return page.evaluate("document.documentElement.scrollWidth") <= size["width"]


@SIZES
def test_it_is_found_in_the_head_opened_by_keyboard_and_read_then(
    told, open_page, accessible_by_day_and_night, size
):
    page = open_page(told.admin, "/me/", size=size)
    head = page.get_by_role("link", name="Told 1 unread")
    assert head.bounding_box()["height"] >= 44
    assert fits(page, size)
    with page.expect_navigation():
        head.press("Enter")

    accessible_by_day_and_night(page)
    assert fits(page, size)
    with page.expect_navigation():
        page.get_by_role("link", name="The north yard").press("Enter")

    page.get_by_role("heading", name=told.surface.name, level=1).wait_for()
    assert not Notice.objects.unread().filter(user=told.admin).exists()
    assert page.get_by_role("link", name="unread").count() == 0


@SIZES
def test_what_one_is_told_is_chosen_by_keyboard(told, open_page, accessible_by_day_and_night, size):
    page = open_page(told.admin, "/me/", size=size)
    press(page, "Choose what you are told", "link")

    accessible_by_day_and_night(page)
    assert fits(page, size)
    box = page.get_by_role("checkbox", name="By daily mail: A surface reached its limit")
    assert box.is_checked()
    box.press("Space")
    page.get_by_label("At", exact=True).select_option("18:00")
    press(page, "Save")

    page.get_by_text("tells you is stored").wait_for()
    assert not page.get_by_role("checkbox", name="By daily mail: A surface reached its limit").is_checked()
    assert NoticeSettings.objects.get().mail_hour == 18


def test_all_is_marked_read_and_an_empty_list_reads_well(told, open_page, accessible_by_day_and_night):
    page = open_page(told.admin, "/told/")
    press(page, "Mark all as read")
    page.get_by_text("1 notice marked as read.").wait_for()

    Notice.objects.all().delete()
    page.reload()
    page.get_by_text("Nothing yet").wait_for()
    accessible_by_day_and_night(page)
