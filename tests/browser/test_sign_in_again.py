"""Signing in through the form, at first and anew: readings typed on site outlive a sign-in that ran out."""

from qa.models import InfiltrationTest
from tests.browser.conftest import press, settle, sign_in, until
from tests.factories import InfiltrationTestFactory, RoundFactory

READINGS = {
    "Prewet time": "40",
    "Test mass": "40",
    "Elapsed time": "240",
    "Spot, if not a fixed location": "by the gate",
}


def test_a_stranger_is_asked_to_sign_in_and_led_to_the_page_wanted(firm, open_page, accessible):
    page = open_page(None, firm.surface.get_absolute_url())
    accessible(page)

    sign_in(page, firm.technician)
    settle(page)

    assert page.url.endswith(firm.surface.get_absolute_url())
    assert page.get_by_role("heading", name=firm.surface.name).first.is_visible()


def test_readings_saved_after_the_sign_in_ran_out_are_kept_and_stored_once_it_is_there_again(
    firm, open_page, accessible
):
    round_ = RoundFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, spot="by the gate")
    page = open_page(firm.technician, f"/rounds/{round_.pk}/tests/new/")
    page.locator("[data-ring-setting]").click()
    page.get_by_text("US customary", exact=False).first.click()
    for label, value in READINGS.items():
        page.get_by_label(label, exact=False).first.fill(value)
    page.get_by_label("Prewetted for this test").uncheck()  # which the page would tick at this spot
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save the test").click()
    page.get_by_role("heading", name="Kept on this phone").wait_for()
    accessible(page)

    page.get_by_role("link", name="On this phone").first.click()
    sign_in(page, firm.technician)

    page.get_by_role("button", name="Keep it as it is").click()  # not prewetted: it counts as a bound alone
    page.get_by_text("Everything recorded here is on the server").wait_for()
    stored = InfiltrationTest.objects.get(sequence=2)
    assert (stored.test_mass, stored.rewetted, stored.unit_system) == (40, False, "us")


def test_what_was_typed_into_a_form_of_the_office_is_filled_in_again(firm, open_page):
    page = open_page(firm.coordinator, "/owners/new/")
    page.get_by_label("Name").first.fill("Ash Estates")
    page.context.clear_cookies(name="sessionid")
    press(page, "Save")
    page.wait_for_url("**/sign-in/login/**")
    settle(page)
    sign_in(page, firm.coordinator)

    page.get_by_text("What you typed is filled in below").wait_for()
    assert page.get_by_label("Name").first.input_value() == "Ash Estates"


def test_a_form_that_was_stored_is_empty_when_it_is_opened_again(firm, open_page):
    page = open_page(firm.coordinator, "/owners/new/")
    page.get_by_label("Name").first.fill("Ash Estates")
    press(page, "Save")
    page.wait_for_url("**/owners/*/")

    page.goto("/owners/new/")

    assert page.get_by_label("Name").first.input_value() == ""


def test_units_chosen_before_the_page_is_ready_are_followed(firm, open_page):
    round_ = RoundFactory(surface=firm.surface)
    # A service worker would fetch the scripts by itself, past what is routed here.
    page = open_page(firm.technician, round_.get_absolute_url(), service_workers="block")
    late = []
    page.route("**/ring-form*.js", lambda route: late.append(route))
    with page.expect_request("**/ring-form*.js"):
        page.goto(f"/rounds/{round_.pk}/tests/new/")

    page.locator("[data-ring-setting]").click()
    page.get_by_text("US customary", exact=False).first.click()
    late.pop().continue_()

    until(page, "document.querySelector('input[name=ring_diameter]').value === '12'")
    assert page.locator("input[name=prewet_mass]").input_value() == "8"
