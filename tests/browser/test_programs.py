"""Tokens and the page for programmers, in a real browser."""

import pytest

from tests.api.calling import Program
from tests.browser.conftest import DESK, PASSWORD, PHONE, press

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_token_is_made_copied_used_and_ended(firm, open_page, accessible, size):
    page = open_page(firm.technician, "/me/", size=size)
    page.get_by_role("link", name="Programs that act for you").click()
    accessible(page)
    page.get_by_role("link", name="New token for").click()
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Confirm")
    page.get_by_label("What it is for").fill("Data logger")
    page.get_by_role("group", name="Read").get_by_label("Sites and their owners").check()
    accessible(page)
    press(page, "Make the token")
    secret = page.get_by_label("Token").input_value()
    accessible(page)
    program = Program(None, secret)
    assert program.get("/api/sites").status_code == 200

    page.get_by_role("link", name="Done, I have copied it").click()
    page.get_by_text("last used").wait_for()
    page.get_by_role("button", name="End it").click()
    page.get_by_text("has ended").wait_for()
    assert program.get("/api/sites").status_code == 401


def test_the_page_for_programmers_needs_no_script_and_is_read_by_keyboard(
    open_page, accessible_by_day_and_night
):
    page = open_page(None, "/api/docs/")
    accessible_by_day_and_night(page)
    page.get_by_role("link", name="Problems").focus()
    page.keyboard.press("Enter")
    assert page.url.endswith("#problems")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")

    bare = open_page(None, "/api/docs/", java_script_enabled=False)
    assert bare.get_by_role("heading", name="GET /api/tests/{key}").count() == 1
