"""Forms that are filled in on site, on a small phone: what comes first is in sight, and nothing lies beneath a bar."""

from datetime import timedelta

import pytest

from core.calc.format import day
from qa.models import InfiltrationTest
from tests.browser.conftest import PHONE, settle, sit_out
from tests.clock import TODAY
from tests.factories import (
    AttachmentFactory,
    ConstructionCheckFactory,
    ConstructionRecordFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LocationFactory,
    RoundFactory,
    SurfaceFactory,
    VisitFactory,
)

pytestmark = pytest.mark.django_db(transaction=True)

SMALL = {"width": 360, "height": 740}
MOST_PRESSES = 6  # beyond the four of the clocks

COVERED = """() => {
  const bar = document.querySelector(".places").getBoundingClientRect()
  const box = document.activeElement.getBoundingClientRect()
  const over = getComputedStyle(document.querySelector(".places")).position === "fixed"
  const inBar = document.activeElement.closest(".places") !== null
  const needed = Math.min(box.height, 44) // of what is tall, its first lines
  return over && !inBar && box.top + needed > bar.top + 1 ? document.activeElement.outerHTML : ""
}"""
CUT = """() => [...document.querySelectorAll("main *")]
  .filter((one) => one.checkVisibility() && !one.closest("svg, .drawing, .visually-hidden, select, textarea"))
  .filter((one) => getComputedStyle(one).overflowX === "hidden" && one.scrollWidth > one.clientWidth + 1)
  .map((one) => one.outerHTML.slice(0, 120))"""
WIDE = """() => [...document.querySelectorAll("body *")]
  .filter((one) => one.checkVisibility() && one.getBoundingClientRect().right > innerWidth + 1)
  .filter((one) => !one.closest(".drawing__scroll, .table-scroll, .visually-hidden"))
  .map((one) => one.outerHTML.slice(0, 120))"""
WIDER = "document.documentElement.scrollWidth > innerWidth"


def larger_text(page, share=2):
    page.evaluate("(share) => { document.documentElement.style.fontSize = `${100 * share}%` }", share)


def focus_walk(page, most=80):
    """Walk the page by Tab; every stop that lies beneath the bar of places."""
    page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
    covered, first = [], None
    for _ in range(most):
        page.keyboard.press("Tab")
        here = page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        if here == first:
            break
        first = first or here
        covered.append(page.evaluate(COVERED))
    return [each[:160] for each in covered if each], len(covered)


@pytest.fixture
def round_(firm):
    round_ = RoundFactory(surface=firm.surface, tested_on=firm.site.today(), hours_since_rain=72.0)
    first = LocationFactory(surface=firm.surface, label="A")
    LocationFactory(surface=firm.surface, label="B")
    InfiltrationTestFactory(
        round=round_, location=first, spot="", seal="clay", ring_diameter=298.0, recorded_by=firm.technician
    )
    return round_


class Thumb:
    """Counts what is pressed."""

    def __init__(self, page):
        self.page, self.presses = page, 0

    def press(self, place):
        self.presses += 1
        place.click()

    def leave_by(self, place):
        with self.page.expect_navigation():
            self.press(place)
        settle(self.page)

    def clock(self, name, seconds):
        key = self.page.locator(f'[data-stopwatch="{name}"] .stopwatch__key--go')
        for _ in range(2):
            key.click()  # one of the four
            sit_out(self.page, seconds)


def test_a_spot_takes_few_presses_from_the_first_screen_on(
    firm, round_, open_page, accessible_by_day_and_night
):
    page = open_page(firm.technician, round_.get_absolute_url(), size=SMALL)
    thumb = Thumb(page)

    thumb.leave_by(page.get_by_role("link", name="Next test"))
    key = page.locator(".stopwatch__key--go").first.bounding_box()
    bar = page.locator(".places").bounding_box()
    assert key["y"] + key["height"] <= bar["y"], (
        f"the first clock key ends {key['y'] + key['height']} px down"
    )
    assert key["height"] >= 64
    assert key["width"] >= 250
    assert page.locator("[data-ring-setting]").inner_text() == "Ring 298 mm, 3.6 kg, Modelling clay"
    assert page.locator("#id_location option:checked").inner_text().startswith("B")
    accessible_by_day_and_night(page)

    page.clock.install()
    thumb.clock("prewet_time_s", 45)
    following = page.locator(".stopwatch__key--go").nth(1).bounding_box()
    assert 0 <= following["y"] <= bar["y"] - following["height"]  # the next clock came by itself
    assert "test with 3.60 kg" in page.locator("[data-ring-mass]").inner_text()
    thumb.clock("elapsed_s", 150)
    page.clock.resume()
    thumb.leave_by(page.get_by_role("button", name="Save the test"))
    test = InfiltrationTest.objects.get(location__label="B")
    assert (test.seal, test.ring_diameter, test.prewet_mass, test.deviations) == ("clay", 298.0, 3.6, ())
    assert thumb.presses <= MOST_PRESSES


def test_nothing_on_the_forms_of_the_field_is_covered_or_cut_also_at_twice_the_size(
    firm, round_, open_page, accessible_by_day_and_night
):
    AttachmentFactory(test=round_.tests.get())
    check = ConstructionCheckFactory(record=ConstructionRecordFactory(surface=firm.surface), each="lift")
    surface = f"/surfaces/{firm.surface.pk}"
    page = open_page(firm.technician, f"{round_.get_absolute_url()}tests/new/", size=SMALL)
    forms = (
        page.url,
        f"/checks/{check.pk}/layer/",
        f"{surface}/rounds/new/",
        f"{surface}/inspections/new/",
        f"{surface}/cleanings/new/",
    )
    for url in forms:
        page.goto(url)
        settle(page)
        accessible_by_day_and_night(page)
        for share in (1, 2):
            larger_text(page, share)
            for box in page.locator("main details").all():
                box.evaluate("(box) => { box.open = true }")
            assert not page.evaluate(WIDER), (url, share, page.evaluate(WIDE))
            assert page.evaluate(CUT) == [], url
        covered, stops = focus_walk(page)
        assert stops > 5, url
        assert covered == [], url


LONGEST_SCREENS = 4
PHONE_SCREENS = "document.documentElement.scrollHeight / innerHeight"
NARROWS = """() => [...document.querySelectorAll("main :is(form[method=get], nav.pages, details.more, .contents)")]
  .some((one) => one.checkVisibility())"""
LISTS = (
    "/",
    "/surfaces/",
    "/visits/",
    "/todo/",
    "/due/",
    "/reports/",
    "/sources/",
    "/firm/methods/",
    "/rain/",
)


def test_no_list_is_longer_than_four_screens_without_a_way_to_narrow_it(firm, round_, open_page):
    """A firm with sixty visits and twenty surfaces, at the width of a common phone and of a small one."""
    crew = CrewFactory(organisation=firm.organisation)
    for n in range(60):
        VisitFactory(organisation=firm.organisation, crew=crew, visit_on=TODAY + timedelta(days=n - 30))
    for n in range(20):
        SurfaceFactory(site=firm.site, name=f"Yard {n}")
    page = open_page(firm.coordinator, "/visits/")
    told = {}

    for path in (*LISTS, firm.site.get_absolute_url(), firm.surface.get_absolute_url()):
        page.set_viewport_size(PHONE)
        page.goto(path)
        settle(page)
        screens = page.evaluate(PHONE_SCREENS)
        if screens > LONGEST_SCREENS and not page.evaluate(NARROWS):
            told[path] = round(screens, 1)
        page.set_viewport_size(SMALL)
        assert not page.evaluate(WIDER), (path, page.evaluate(WIDE))
    page.goto("/visits/")
    first = page.locator("tbody tr").first.inner_text()

    assert told == {}
    assert day(TODAY).replace("\u00a0", " ") in first.replace("\u00a0", " ")
