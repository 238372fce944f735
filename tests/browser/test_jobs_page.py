"""Work in the background on a phone and a desk, and the page of a fault; axe finds nothing in light and dark."""

import re
from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.utils.timezone import now

from core.services import log_context
from planning.models import WorkPlan
from tests.browser.conftest import DESK, PHONE
from tests.factories import WorkPlanFactory
from tests.operations.jobs import give_state, one_of_each

pytestmark = pytest.mark.django_db(transaction=True)
SIZES = pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])


@pytest.fixture
def jobs(firm):
    """One that failed of each kind, one at work, one that waits."""
    made = one_of_each(firm)
    give_state(
        made, "failed", error="It was begun too often without an end and is not tried any more.", attempts=3
    )
    mine = {"organisation": firm.organisation}
    WorkPlanFactory(
        **mine,
        state="running",
        started_at=now(),
        lease_until=now() + timedelta(minutes=1),
        worker="north:4711",
        progress_done=3,
        progress_total=28,
        progress_word="days planned",
    )
    WorkPlanFactory(**mine)
    return made


@SIZES
def test_jobs_are_read_and_one_is_tried_again_by_keyboard(
    firm, jobs, open_page, accessible_by_day_and_night, size
):
    page = open_page(firm.admin, "/jobs/", size=size)

    accessible_by_day_and_night(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    key = page.get_by_role("button", name=re.compile(r"Try again\s*: Plan of work, \d+\s[A-Z][a-z]{2}\s2031"))
    assert key.bounding_box()["height"] >= 44
    key.focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")

    page.get_by_text("It is tried again.").wait_for()
    assert WorkPlan.objects.get(pk=jobs["plan"].pk).state == "done", "without a broker it is done at once"


def test_an_empty_page_reads_well(firm, open_page, accessible_by_day_and_night):
    page = open_page(firm.admin, "/jobs/")

    page.get_by_text("Nothing failed, nothing waits").wait_for()
    accessible_by_day_and_night(page)


@SIZES
def test_the_page_of_a_fault_shows_what_to_quote(open_page, accessible_by_day_and_night, size):
    log_context.begin_request("3a8f801c-072b-4805-8f38-e1337f363ed4")
    page = open_page(None, "/", size=size)
    page.set_content(render_to_string("500.html"))
    page.locator("html").evaluate("page => page.setAttribute('data-ready', '')")  # it has no script to say so

    accessible_by_day_and_night(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert page.locator("code").inner_text() == log_context.request_id()
