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


def test_readings_sent_after_the_sign_in_ran_out_are_filled_in_again(firm, open_page, accessible):
    round_ = RoundFactory(surface=firm.surface)
    InfiltrationTestFactory(round=round_, spot="by the gate")
    page = open_page(firm.technician, f"/rounds/{round_.pk}/tests/new/")
    page.locator("[data-ring-setting]").click()
    page.get_by_text("US customary", exact=False).first.click()
    for label, value in READINGS.items():
        page.get_by_label(label, exact=False).first.fill(value)
    page.get_by_label("Prewetted for this test").uncheck()  # which the page would tick at this spot
    page.context.clear_cookies(name="sessionid")
    press(page, "Save the test")

    page.wait_for_url("**/sign-in/login/**")
    settle(page)
    sign_in(page, firm.technician)

    page.get_by_text("What you typed is filled in below").wait_for()
    accessible(page)
    assert page.locator("input[name=unit_system]:checked").input_value() == "us"
    for label, value in READINGS.items():
        assert page.get_by_label(label, exact=False).first.input_value() == value
    assert not page.get_by_label("Prewetted for this test").is_checked()
    press(page, "Save the test")
    settle(page)
    page.get_by_label("Save it all the same, as it is").check()  # not prewetted: it counts as a bound alone
    press(page, "Save the test")
    page.wait_for_url(lambda url: url.endswith(f"/rounds/{round_.pk}/"))
    stored = InfiltrationTest.objects.get(sequence=2)
    assert (stored.test_mass, stored.rewetted) == (40, False)


def test_a_form_that_was_stored_is_empty_when_it_is_opened_again(firm, open_page):
    page = open_page(firm.coordinator, "/owners/new/")
    page.get_by_label("Name").first.fill("Ash Estates")
    press(page, "Save")
    page.wait_for_url("**/owners/*/")

    page.goto("/owners/new/")

    assert page.get_by_label("Name").first.input_value() == ""


def test_units_chosen_before_the_page_is_ready_are_followed(firm, open_page):
    round_ = RoundFactory(surface=firm.surface)
    page = open_page(firm.technician, round_.get_absolute_url())
    late = []
    page.route("**/ring-form*.js", lambda route: late.append(route))
    with page.expect_request("**/ring-form*.js"):
        page.goto(f"/rounds/{round_.pk}/tests/new/")

    page.locator("[data-ring-setting]").click()
    page.get_by_text("US customary", exact=False).first.click()
    late.pop().continue_()

    until(page, "document.querySelector('input[name=ring_diameter]').value === '12'")
    assert page.locator("input[name=prewet_mass]").input_value() == "8"
