"""From an empty database to the first forecast; words that explain themselves; finding things by keyboard."""

from time import monotonic

import pytest
from django.urls import reverse

from core.services import jobs
from core.tasks import deliver
from maintenance.models import Forecast
from qa.models import Layer, Surface
from tests.browser.conftest import DESK, PHONE, press, to_step, until
from tests.browser.phone import fill
from tests.clock import TODAY
from tests.factories import InfiltrationTestFactory, OwnerFactory, RoundFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db(transaction=True)
MOST_S = 600  # ten minutes, of which nearly all are the machine's and not the reader's


def fits(page):
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_new_firm_gets_to_its_first_forecast_by_hand(open_page, accessible):
    began = monotonic()
    page = open_page(None, reverse("account_signup"), size=DESK)
    page.get_by_label("Your name").fill("Ada Steiner")
    page.get_by_label("Email").first.fill("ada@stone.example")
    for label in ("Password", "Password (again)"):
        page.get_by_label(label, exact=True).fill("soak-away-2026")
    press(page, "Create the account")
    accessible(page)
    page.get_by_label("Name", exact=True).fill("Stone and rain")
    page.get_by_label("Country").select_option("DE")
    press(page, "Set up the firm")

    accessible(page)
    assert page.get_by_role("heading", name="First steps").is_visible()
    press(page, "Add the owner of the first site", "link")
    page.get_by_label("Name", exact=True).fill("Town school")
    press(page, "Save the owner")
    page.goto("/")
    press(page, "Add the site", "link")
    accessible(page)
    page.get_by_label("Name", exact=True).fill("School yard")
    to_step(page)
    press(page, "Save the site")
    press(page, "its first surface", "link")
    accessible(page)
    page.get_by_label("Name", exact=True).fill("Bus bay")
    page.get_by_label("Type").select_option("picp")
    page.get_by_label("Area, in m²").fill("600")
    page.get_by_label("Opened on").fill("2024-05-01")
    to_step(page)
    press(page, "Save the surface")
    press(page, "its build-up", "link")
    page.locator(".beside__picture svg").wait_for()
    accessible(page)
    to_step(page)
    press(page, "Save the build-up")
    press(page, "its first test", "link")
    page.get_by_label("Hours since the last rain").fill("72")
    press(page, "Go on to the tests")
    with page.expect_navigation():
        page.get_by_role("link", name="First test").first.click()
    fill(page, spot="By the gate", prewet_time_s="25", test_mass="18", elapsed_s="60")
    press(page, "Save the test")
    surface = Surface.objects.get()
    page.goto(surface.get_absolute_url())
    page.get_by_text("Rain soaks in well.").wait_for()
    accessible(page)

    assert Forecast.objects.get(surface=surface).state == "done"
    assert surface.limit_source
    assert tuple(surface.site.frost_months) == (1, 2, 3, 11, 12)
    assert surface.site.time_zone == "Europe/Berlin"
    assert Layer.objects.filter(surface=surface).count() > 3
    assert monotonic() - began < MOST_S


def test_a_new_firm_gets_there_from_a_spreadsheet(open_page, accessible, firm, tmp_path, monkeypatch):
    monkeypatch.setattr(jobs, "_deliver_beside", [deliver])  # however busy the machine is
    sheet = tmp_path / "surfaces.csv"
    sheet.write_text(
        "Client,Site,Surface,Area (sq ft),Paving,Installed,Limit [in/h]\n"
        "Town school,School yard,Bus bay,9000,PICP,12/05/2021,10\n",
        encoding="utf-8",
    )
    page = open_page(firm.outsider, "/", size=DESK)
    press(page, "Take in spreadsheets", "link")
    accessible(page)
    page.locator("input[type=file]").set_input_files(str(sheet))
    press(page, "Send the sheets")
    accessible(page)
    press(page, "Look through the sheets")
    page.get_by_role("button", name="Take everything in").wait_for()
    press(page, "Take everything in")
    page.get_by_text("1 owner, 1 site and 1 surface taken in").wait_for()

    assert (
        Surface.objects.get(name="Bus bay").site.owner.organisation
        == firm.outsider.memberships.get().organisation
    )
    page.goto("/")
    assert page.get_by_text("Next: record its first test.").is_visible()


def test_things_are_found_from_every_page_by_keyboard(firm, open_page, accessible_by_day_and_night):
    SurfaceFactory(
        site=SiteFactory(owner=OwnerFactory(organisation=firm.organisation), name="Mühlhof"), name="Ramp"
    )
    page = open_page(firm.viewer, reverse("accounts:firm"), size=DESK)
    page.keyboard.press("/")
    until(page, "document.activeElement.id === 'frame-q'")
    page.keyboard.type("muhlhof")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    accessible_by_day_and_night(page)
    press(page, "Ramp", "link")
    assert page.get_by_role("navigation", name="Trail").get_by_role("link", name="Mühlhof").is_visible()

    page.locator("html[data-ready]").wait_for(state="attached")
    page.keyboard.press("/")
    page.locator("[data-opened] a", has_text="Ramp").wait_for()
    accessible_by_day_and_night(page)
    page.keyboard.press("Escape")
    page.locator("[data-opened]").wait_for(state="hidden")
    until(page, "document.activeElement.id === 'frame-q'")


def test_the_key_can_be_turned_off(firm, open_page, accessible):
    page = open_page(firm.viewer, reverse("reporting:search-show"), size=DESK)
    accessible(page)
    page.get_by_role("button", name="Turn the key off").click()
    page.goto("/firm/")
    page.locator("html[data-ready]").wait_for(state="attached")
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.id") != "frame-q"


def test_search_works_on_a_phone_and_without_scripts(firm, open_page, accessible_by_day_and_night):
    page = open_page(firm.viewer, "/", size=PHONE)
    press(page, "Search")
    accessible_by_day_and_night(page)
    assert fits(page)
    page.locator("#page-q").fill(firm.surface.name)
    page.locator("#page-q").press("Enter")
    page.get_by_role("link", name=firm.surface.name).first.wait_for()
    assert fits(page)

    bare = open_page(firm.viewer, f"/search/?q={firm.surface.name}", java_script_enabled=False)
    assert bare.get_by_role("link", name=firm.surface.name).first.is_visible()


def test_a_word_explains_itself_by_keyboard_and_without_scripts(firm, open_page, accessible_by_day_and_night):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY))
    page = open_page(firm.technician, firm.surface.get_absolute_url(), size=PHONE)
    press(page, "Update the forecast")
    word = page.locator("summary.term__word", has_text="Limit").first
    word.focus()
    page.keyboard.press("Enter")
    page.get_by_text("below which the surface must be cleaned").first.wait_for()
    accessible_by_day_and_night(page)
    assert fits(page)
    page.keyboard.press("Escape")
    page.get_by_text("below which the surface must be cleaned").first.wait_for(state="hidden")

    bare = open_page(firm.viewer, firm.surface.get_absolute_url(), java_script_enabled=False)
    bare.locator("summary.term__word", has_text="Limit").first.click()
    assert bare.get_by_text("below which the surface must be cleaned").first.is_visible()
    press(bare, "All words and figures", "link")
    accessible_by_day_and_night(open_page(firm.viewer, reverse("glossary"), size=PHONE))


# The widths that each kind of screen has to fit; no rule of ours changes between the two of a phone.
WIDTHS = {390: (390, 360), 1366: (1366,)}


@pytest.mark.parametrize("size", [PHONE, {"width": 1366, "height": 800}], ids=lambda size: size["width"])
def test_the_new_pages_fit_and_axe_finds_nothing(firm, open_page, accessible_by_day_and_night, size):
    page = open_page(firm.admin, "/", size=size)
    for path in (
        reverse("reporting:start-steps"),
        reverse("reporting:handbook-show"),
        reverse("maintenance:surface-list"),
        reverse("qa:water-detail", args=[firm.surface.pk]),
        reverse("qa:layer-edit", args=[firm.surface.pk]),
        reverse("qa:surface-create", args=[firm.site.pk]),
        reverse("qa:site-create"),
        reverse("accounts:firm-found"),
        reverse("accounts:firm-settings"),
        reverse("qa:rule-list"),
        firm.surface.get_absolute_url(),
    ):
        page.goto(path)
        accessible_by_day_and_night(page)
        for width in WIDTHS[size["width"]]:
            page.set_viewport_size(size | {"width": width})
            assert fits(page), (path, width)
        page.set_viewport_size(size)
