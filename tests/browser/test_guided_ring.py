"""A ring test as it is taken on site: the page's clock, the rules it keeps, and what is stored."""

import re
from datetime import timedelta

import pytest
from django.utils.timezone import now
from playwright.sync_api import expect

from core.calc.paving import TestMethod
from qa.models import Location, Outline
from qa.services import plans
from tests.browser.conftest import DESK, PHONE, press, sit_out
from tests.conftest import CLOCK
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory
from tests.qa.views.test_field_methods import TYPED, recorded
from tests.qa.views.test_plans import YARD

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def spot(firm):
    """A location on the surface, and a round of today."""
    return LocationFactory(surface=firm.surface, label="A"), RoundFactory(
        surface=firm.surface, tested_on=firm.site.today(), hours_since_rain=72.0
    )


@pytest.fixture
def on_site(firm, spot, open_page, request):
    """The page of a new test at the spot, with a clock that moves only when told, and the server's with it."""
    location, round_ = spot
    page = open_page(firm.technician, round_.get_absolute_url())
    page.clock.install(time=now())
    page.goto(f"{round_.get_absolute_url()}tests/new/?location={location.pk}")
    page.clock.pause_at(now() + timedelta(minutes=1))  # the page must not be there yet when it hears of it
    page.server_clock = request.config.stash[CLOCK].traveller
    page.server_clock.shift(60)
    page.under_way = under_way(page.context)
    page.locator(".stopwatch__time").last.wait_for()
    return page


def under_way(context):
    """The requests of a browser that have no answer yet, at any time."""
    asked = set()
    context.on("request", lambda one: asked.add(one))
    for ended in ("requestfinished", "requestfailed"):
        context.on(ended, lambda one: asked.discard(one))
    return asked


def let_pass(page, seconds):
    """For phone and server alike: a phone whose clock is off has its times corrected.

    What the page tells of its clock must arrive before the server's goes on, or else once both have gone on.
    """
    while page.under_way:
        page.wait_for_timeout(20)
    page.server_clock.shift(seconds)
    sit_out(page, seconds)


class Watch:
    """One of the page's stopwatches."""

    def __init__(self, page, name):
        self.page, self.box = page, page.locator(f'[data-stopwatch="{name}"]')

    def press(self, key="go"):
        self.box.locator(".stopwatch__key--go" if key == "go" else "button:has-text('Undo')").click()

    def wait(self, seconds):
        let_pass(self.page, seconds)

    def time(self, seconds):
        self.press()
        self.wait(seconds)
        self.press()

    @property
    def reading(self):
        return self.box.locator("input").input_value()


def watches(page):
    return Watch(page, "prewet_time_s"), Watch(page, "elapsed_s")


def save(page):
    press(page, "Save the test")
    page.get_by_text("stored").first.wait_for()


def test_a_whole_guided_test_with_an_early_stop_taken_back(on_site, spot, accessible):
    page, (location, round_) = on_site, spot
    prewet, test = watches(page)

    prewet.time(45)
    assert prewet.reading == "45.0"
    assert "test with 3.60 kg" in page.locator("[data-ring-mass]").inner_text()
    assert page.get_by_label("Test mass").input_value() == "3.60"
    assert page.locator("[data-ring-countdown] b").inner_text() == "2:00"
    prewet.wait(60)
    assert page.locator("[data-ring-countdown] b").inner_text() == "1:00"
    test.press()
    test.wait(60)
    live = page.locator(".live-rate__value")
    assert live.inner_text().replace("\n", " ") == "< 3060 mm/h"  # 4 583 666 000 · 3.6 / (300² · 60)
    test.press()
    test.wait(1)
    test.press("undo")
    test.wait(89)
    test.press()
    assert test.reading == "150.0"
    assert live.inner_text().replace("\n", " ") == "1220 mm/h"
    assert page.locator("[data-ring-deviations] li").count() == 0
    page.clock.resume()  # axe waits for timers
    accessible(page)
    save(page)
    accessible(page)

    stored = round_.tests.get()
    assert (stored.location, stored.deviations) == (location, ())
    assert (stored.prewet_time_s, stored.start_delay_s, stored.elapsed_s) == (45.0, 60.0, 150.0)
    assert stored.rate_mm_h == pytest.approx(4_583_666_000 * 3.6 / (300**2 * 150))


def test_a_quick_prewetting_asks_for_the_large_mass(on_site):
    prewet, _ = watches(on_site)

    prewet.time(29.9)

    assert on_site.get_by_label("Test mass").input_value() == "18.00"


def test_a_late_start_is_said_while_it_can_still_be_put_right(on_site):
    prewet, test = watches(on_site)
    prewet.time(45)

    prewet.wait(125)
    late = on_site.locator("[data-ring-countdown]").inner_text()
    test.press()

    assert "0:05 too late" in late
    assert "Prewet again before the test" in late
    assert "started 125 s after prewetting ended" in on_site.locator("[data-ring-deviations]").inner_text()


def test_still_ponded_gives_the_upper_bound_at_once_and_can_be_taken_back(on_site, spot):
    page, (_, round_) = on_site, spot
    prewet, test = watches(page)
    prewet.time(400)
    prewet.wait(30)
    ponded = page.get_by_role("button", name="Stop, still ponded")
    assert ponded.is_hidden()
    test.press()
    test.wait(600)

    ponded.click()
    assert page.get_by_label("Still ponded when stopped").is_checked()
    assert ponded.is_visible()  # it keeps its place, so that nothing moves beneath the finger
    test.press("undo")
    assert page.get_by_label("Still ponded when stopped").is_checked()  # too soon after the stop to be meant
    test.wait(1)
    test.press("undo")
    assert page.get_by_label("No free water was left").is_checked()
    test.wait(299)
    ponded.click()

    assert test.reading == "900.0"
    assert page.locator(".live-rate__value").inner_text().replace("\n", " ") == "< 204 mm/h"
    save(page)
    stored = round_.tests.get()
    assert (stored.bound, stored.ended) == ("<", "still_ponded")
    assert stored.rate_mm_h == pytest.approx(203.72, rel=1e-4)


def test_a_glove_that_presses_twice_presses_once(on_site):
    prewet, test = watches(on_site)

    test.press()
    test.wait(0.09)
    test.press()
    test.wait(0.5)
    prewet.press()  # what lies beside it, soon after
    test.wait(60)
    assert (test.reading, prewet.reading) == ("", "")
    assert test.box.locator(".stopwatch__key--go").inner_text() == "No water left"  # it still runs
    test.press()
    test.wait(0.6)
    test.press()
    assert test.reading == "60.6"


def test_a_repeat_within_five_minutes_needs_no_new_prewetting(on_site, spot):
    page, (_, round_) = on_site, spot
    prewet, test = watches(page)
    prewet.time(45)
    prewet.wait(20)
    test.time(150)
    save(page)

    page.get_by_role("link", name="repeat at A").click()
    page.locator("[data-ring-repeat] p").wait_for()
    prewet, test = watches(page)
    assert not page.get_by_label("Prewetted for this test").is_checked()
    assert prewet.box.is_hidden()
    assert (
        "Second test at this spot; the mean of the two counts."
        in page.locator("[data-ring-repeat]").inner_text()
    )
    test.wait(120)
    test.time(180)
    assert "Mean of the two: 1120 mm/h" in page.locator("[data-ring-rate]").inner_text()
    save(page)

    first, second = round_.tests.order_by("sequence")
    gap = (second.finished_at - first.finished_at).total_seconds() - 180
    assert second.minutes_since_first == pytest.approx(gap / 60, abs=0.01)
    assert (second.sequence, second.rewetted, second.deviations) == (2, False, ())
    assert "mean of two" in page.locator(".table--stack").first.inner_text()


def test_a_repeat_after_five_minutes_is_told_to_prewet_again(on_site):
    page = on_site
    prewet, test = watches(page)
    prewet.time(45)
    prewet.wait(20)
    test.time(150)
    save(page)
    let_pass(page, 9 * 60)

    page.get_by_role("link", name="repeat at A").click()
    page.locator("[data-ring-repeat] p").wait_for()

    expect(page.get_by_label("Prewetted for this test")).to_be_checked()
    assert "more than 5 min ago: prewet again" in page.locator("[data-ring-repeat]").inner_text()


def test_correcting_a_repeat_leaves_what_was_answered_as_it_is(firm, open_page):
    round_ = RoundFactory(surface=firm.surface)
    first = InfiltrationTestFactory(round=round_, spot="by the gate")
    repeat = InfiltrationTestFactory(
        round=round_,
        spot="by the gate",
        sequence=2,
        rewetted=False,
        prewet_time_s=None,
        minutes_since_first=3,
    )
    page = open_page(firm.technician, f"{repeat.get_absolute_url()}correct/")

    assert not page.get_by_label("Prewetted for this test").is_checked()
    assert page.locator("[data-ring-deviations] li").all_inner_texts() == []
    page.get_by_label("Elapsed time").fill("200")
    page.get_by_label("Reason").fill("Misread")
    press(page, "Save the correction")

    stored = round_.tests.active().exclude(pk=first.pk).get()
    assert (stored.elapsed_s, stored.rewetted, stored.deviations) == (200, False, ())


def test_the_page_says_what_is_still_to_do(firm, spot, open_page):
    _, round_ = spot
    other = LocationFactory(surface=firm.surface, label="B")
    InfiltrationTestFactory(round=round_, location=other)

    page = open_page(firm.technician, f"{round_.get_absolute_url()}tests/new/")

    assert page.locator(".heading__sub").inner_text() == "1 of at least 3 spots tested"
    page.locator("summary", has_text="1 of at least 3 spots tested").click()
    assert page.get_by_role("link", name="A (interior)").is_visible()


def test_the_ring_form_works_without_javascript(firm, spot, open_page):
    _, round_ = spot
    page = open_page(firm.technician, f"{round_.get_absolute_url()}tests/new/", java_script_enabled=False)

    page.locator("#id_location").select_option(label="A (interior)")
    for name, value in (
        ("Prewet time", "45"),
        ("Start after", "60"),
        ("Test mass", "3.6"),
        ("Elapsed", "150"),
    ):
        page.get_by_label(re.compile(f"^{name}")).fill(value)
    press(page, "Save the test")

    assert page.get_by_text("Test at A stored").is_visible()
    assert round_.tests.get().deviations == ()


def test_a_flooding_counts_the_runs_that_are_missing(firm, spot, open_page):
    _, round_ = spot
    page = open_page(firm.technician, f"{round_.get_absolute_url()}tests/new/?method=flooding")

    for label, value in (("Level at the start", "90"), ("Level at the end", "60"), ("Time between", "720")):
        page.get_by_label(re.compile(f"^{label}")).first.fill(value)

    assert page.locator("[data-field-rate]").inner_text().split("\n")[-1] == "< 150 mm/h"
    assert "1 of at least 3 floodings. Flood 2 more." in page.locator("[data-field-deviations]").inner_text()


@pytest.mark.parametrize("method", TYPED)
def test_axe_finds_nothing_on_the_pages_of_a_method(firm, open_page, accessible, method):
    test = recorded(firm, method)
    page = open_page(firm.technician, f"{test.round.get_absolute_url()}tests/new/?method={method}")

    for path in (
        page.url,
        test.get_absolute_url(),
        f"{test.get_absolute_url()}correct/",
        test.round.get_absolute_url(),
    ):
        page.goto(path)
        page.wait_for_load_state("networkidle")
        accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path


def test_an_outline_is_drawn_by_pressing_corners_and_its_spots_are_stored(firm, open_page, accessible):
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/plan/", size=DESK)
    board = page.locator(".plan-board")
    board.wait_for()
    accessible(page)
    page.get_by_role("button", name="Start over").click()
    box = board.bounding_box()
    for right, down in ((0.3, 0.7), (0.8, 0.7), (0.8, 0.3), (0.3, 0.3)):
        board.click(position={"x": right * box["width"], "y": down * box["height"]})

    page.get_by_label("Sides that receive run-on").fill("1")
    page.get_by_role("button", name="Show the plan").click()
    page.get_by_role("img", name=f"Plan of {firm.surface.name}").wait_for()
    accessible(page)
    assert not Outline.objects.exists()
    page.get_by_role("button", name="Store outline and new spots").click()
    page.get_by_role("heading", name="Plan and test locations").wait_for()

    outline = Outline.objects.get(surface=firm.surface)
    assert len(outline.plan.outline) == 4
    assert outline.plan.outline[0][1] == outline.plan.outline[1][1]
    assert Location.objects.filter(surface=firm.surface, zone="edge").count() == 1


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_an_outline_that_crosses_itself_is_told_while_it_is_drawn_and_when_it_is_sent(
    firm, open_page, accessible, size
):
    page = open_page(firm.coordinator, f"/surfaces/{firm.surface.pk}/plan/", size=size)
    page.locator(".plan-board").wait_for()
    corners = page.get_by_label("Corners")

    corners.fill("0 0\n40 0\n0 25\n40 25")

    told = "Sides 2 and 4 cross at 20 m, 12.5 m."
    page.get_by_role("status").filter(has_text=told).wait_for()
    assert page.locator("line.plan-board__fault").count() == 2
    assert page.locator("circle.plan-board__fault").count() == 1
    accessible(page)
    page.get_by_role("button", name="Store outline and new spots").click()
    page.get_by_role("alert").filter(has_text=told).wait_for()
    assert corners.input_value() == "0 0\n40 0\n0 25\n40 25"
    accessible(page)
    corners.fill("0 0\n40 0\n40 25\n0 25")
    page.locator(".plan-board__fault").first.wait_for(state="detached")
    assert not Outline.objects.exists()


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_the_plan_is_shown_on_the_surface_page(firm, open_page, accessible, size):
    plans.save_plan(surface=firm.surface, plan=YARD, spots=(), keep_locations=True)

    page = open_page(firm.owner_person, firm.surface.get_absolute_url(), size=size)

    assert page.get_by_role("img", name=f"Plan of {firm.surface.name}").is_visible()
    accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_every_method_has_a_form_in_the_browser_tests():
    assert set(TYPED) == set(TestMethod) - {TestMethod.RING}
