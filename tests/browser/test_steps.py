"""Long forms in short steps: one in view, sent as a whole, at the end."""

import pytest

from qa.models import Surface
from tests.browser.conftest import DESK, PHONE, press, settle, to_step
from tests.factories import LayerFactory

STEPS = "nav[aria-label='Steps of this form']"


@pytest.fixture
def new_surface(firm, open_page):
    page = open_page(firm.coordinator, f"/sites/{firm.site.pk}/surfaces/new/", size=PHONE)
    settle(page)
    page.get_by_label("Name", exact=True).fill("Bus bay")
    return page


def current(page):
    return page.locator(f"{STEPS} [aria-current=step]").inner_text()


def test_one_step_is_in_view_and_going_on_moves_the_focus_to_its_heading(new_surface, accessible):
    page = new_surface
    accessible(page)

    page.get_by_role("button", name="Next:").click()

    heading = page.locator(".steps__head")
    assert heading.inner_text() == "Step 2 of 6: What clogs it"
    assert page.evaluate("document.activeElement.className") == "steps__head"
    assert current(page) == "2. What clogs it"
    assert not page.get_by_label("Name", exact=True).is_visible()
    assert not page.get_by_role("button", name="Save the surface").is_visible()
    accessible(page)


def test_the_way_back_of_the_browser_leads_to_the_step_before_with_what_was_typed(new_surface):
    page = new_surface
    page.get_by_role("button", name="Next:").click()
    page.get_by_role("button", name="Next:").click()

    page.go_back()
    page.go_back()

    assert page.get_by_label("Name", exact=True).input_value() == "Bus bay"
    assert current(page) == "1. What it is"


def test_enter_leads_on_and_stores_nothing_before_the_last_step(new_surface, firm):
    page = new_surface
    before = Surface.objects.count()

    page.get_by_label("Name", exact=True).press("Enter")

    assert current(page) == "2. What clogs it"
    assert Surface.objects.count() == before


def test_a_refusal_opens_the_step_that_holds_it_and_names_it(new_surface):
    page = new_surface
    page.get_by_label("Type").select_option("picp")
    page.get_by_label("Area, in m²").fill("600")
    page.get_by_label("Opened on").fill("2024-05-01")
    to_step(page, "What clogs it")
    page.locator("[name=run_on_area_m2]").fill("-4")
    to_step(page)

    press(page, "Save the surface")
    settle(page)

    assert "What clogs it (to be corrected)" in current(page)
    to_step(page, "What it is")
    page.locator("[data-error-summary] a").first.click()
    assert page.locator("[name=run_on_area_m2]").is_visible()


def test_without_a_script_all_steps_stand_on_one_page(firm, open_page):
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/edit/", java_script_enabled=False)

    assert page.get_by_label("Name", exact=True).is_visible()
    assert page.get_by_label("Rule for the limit").is_visible()
    assert page.locator(STEPS).count() == 0


def test_a_drawing_asked_for_comes_back_to_the_layer_it_was_asked_at(firm, open_page, accessible):
    for position, kind in enumerate(("surface_course", "bedding", "base"), start=1):
        LayerFactory(surface=firm.surface, position=position, kind=kind, thickness_mm=80)
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/build-up/", size=DESK)
    to_step(page, "Base")
    page.get_by_label("Thickness").locator("visible=true").fill("300")

    press(page, "Draw it as entered")
    settle(page)

    assert current(page) == "3. Base"
    assert page.get_by_label("Thickness").locator("visible=true").input_value() == "300"
    assert page.locator(".beside__picture svg").is_visible()
    accessible(page)
