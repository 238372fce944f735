"""Choosing what a surface is held to, and checking its stone and its water, as people do it."""

from qa.models import Sieving, Surface
from tests.browser.conftest import DESK, press, settle, to_step
from tests.factories import LayerFactory, OwnLimitFactory


def test_a_coordinator_chooses_a_rule_and_sees_why_it_applies(firm, open_page, accessible):
    OwnLimitFactory(organisation=firm.organisation, name="Our courts", limit_mm_h=320)
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/edit/", size=DESK)

    to_step(page, "The rate it must keep")
    page.get_by_label("Rule for the limit").select_option(
        label="Our courts: clean below 320 mm/h, new at least 2000 mm/h (entered by the firm)"
    )
    to_step(page, "A design rain")
    page.get_by_label("Intensity of the design rain").fill("400")
    accessible(page)
    press(page, "Save the surface")

    page.locator("summary", has_text="Facts").click()
    page.get_by_text("400 mm/h, from the design rain").first.wait_for()
    assert page.get_by_text(
        "it is the highest: Our courts (own rule of the firm) asks 320 mm/h"
    ).first.is_visible()
    assert Surface.objects.get(pk=firm.surface.pk).limit_mm_h == 400


def test_the_limit_is_chosen_without_javascript(firm, open_page):
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/edit/", java_script_enabled=False)

    page.locator("select[name=rule]").select_option("netherlands")
    page.get_by_role("button", name="Save the surface").click()

    page.wait_for_url(f"**/surfaces/{firm.surface.pk}/")
    assert round(Surface.objects.get(pk=firm.surface.pk).limit_mm_h, 1) == 20.8


def test_a_technician_enters_a_sieve_analysis_on_the_phone(firm, open_page, accessible):
    layer = LayerFactory(surface=firm.surface, kind="base", material="washed stone, No. 57")
    page = open_page(firm.technician, f"/surfaces/{firm.surface.pk}/gradation/")
    accessible(page)

    page.get_by_role("link", name="Sieve analysis of Base").click()
    accessible(page)
    page.get_by_role("button", name="Go on to the sieves").click()
    for sieve, percent in (("37.5 mm", 100), ("25 mm", 94), ("12.5 mm", 40), ("4.75 mm", 5), ("2.36 mm", 2)):
        page.get_by_label(f"{sieve} (", exact=False).first.fill(str(percent))
    accessible(page)
    page.get_by_role("button", name="Save the sieve analysis").click()

    page.get_by_text("Only 94 % pass the 25 mm (1 in) sieve").first.wait_for()
    page.locator("[data-chart='gradation-data'] [data-chart-still] svg").wait_for()
    accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert Sieving.objects.get().layer == layer


def test_an_owner_asks_what_a_rain_does(firm, open_page, accessible):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300)
    Surface.objects.filter(pk=firm.surface.pk).update(soil_rate_mm_h=10)
    page = open_page(firm.owner_person, f"/surfaces/{firm.surface.pk}/water/")

    page.get_by_role("spinbutton", name="Rain , in mm").fill("140")
    press(page, "Work it out")
    settle(page)  # nothing moves from here on, and every button has its script

    page.get_by_text("140 mm of rain in 2 h").first.wait_for()
    page.locator("[data-chart='fate-data'] [data-chart-still] svg").wait_for()
    page.get_by_role("button", name="Read values from the chart (Where the water goes)").click()
    page.locator("#fate .plot-container").wait_for()
    accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
