"""A plan of work in a real browser: by mouse, by keyboard, on a phone; axe finds nothing."""

from datetime import timedelta
from types import SimpleNamespace

import pytest

from planning.models import Visit
from tests.browser.conftest import DESK, press
from tests.clock import START, TODAY
from tests.factories import CrewAbsenceFactory, CrewFactory, SurfaceFactory
from tests.planning.services.test_work_plans import advise, place, planned, stops

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def plan(firm):
    """Two crews, and more work than fits a day of one."""
    for name in ("One", "Two"):
        CrewFactory(organisation=firm.organisation, name=name, latitude_deg=0.4, longitude_deg=0.2)
    place(firm.site)
    for _ in range(5):
        advise(SurfaceFactory(site=firm.site, area_m2=7000))
    return planned(firm)


def of_first_stop(plan):
    day, stop = next(iter(stops(plan).values()))
    return day, stop.key


def test_work_is_dragged_to_another_day_and_days_are_accepted(firm, plan, open_page):
    day, key = of_first_stop(plan)
    target = next(d for d in plan.result.days if d.crew != day.crew or d.on != day.on)
    page = open_page(firm.coordinator, plan.get_absolute_url(), size=DESK | {"height": 3000})  # both in sight

    place_of = f"[data-board-crew='{target.crew}'][data-board-on='{target.on}']"
    stop = page.locator(f"[data-board-stop='{key}']")
    with page.expect_navigation():
        stop.drag_to(page.locator(place_of), source_position={"x": 20, "y": 10})

    plan.refresh_from_db()
    told = page.get_by_text("Both days are timed anew.").or_(page.get_by_text("does not fit"))
    assert told.is_visible()
    press(page, "Accept the days that are ticked")
    assert Visit.objects.count() == len(plan.result.days)


class Finger:
    """One finger on the glass, as the browser is told by the device."""

    def __init__(self, page):
        self.page, self.device = page, page.context.new_cdp_session(page)

    def __call__(self, what, *at):
        points = [{"x": at[0], "y": at[1]}] if at else []
        self.device.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": points})


def middle_of(locator):
    box = locator.bounding_box()
    return box["x"] + 20, box["y"] + 10


@pytest.fixture
def on_glass(firm, plan, open_page):
    """The plan's page under a finger, with the first stop and another day of its crew."""
    day, key = of_first_stop(plan)
    target = next(d for d in plan.result.days if d.crew == day.crew and d.on != day.on)
    size = {"width": 390, "height": 3000}
    page = open_page(firm.coordinator, plan.get_absolute_url(), size=size, has_touch=True)
    return SimpleNamespace(
        page=page,
        finger=Finger(page),
        key=key,
        on=day.on,
        stop=page.locator(f"[data-board-stop='{key}']"),
        other_day=page.locator(f"[data-board-crew='{target.crew}'][data-board-on='{target.on}']"),
    )


def test_work_is_held_by_a_finger_and_dropped_on_another_day(on_glass):
    page, finger = on_glass.page, on_glass.finger

    finger("touchStart", *middle_of(on_glass.stop))
    page.locator(".board__stop--held").wait_for()
    finger("touchMove", *middle_of(on_glass.other_day))
    page.locator(".board__day--target").wait_for()
    with page.expect_navigation():
        finger("touchEnd")

    assert page.get_by_text("Both days are timed anew.").or_(page.get_by_text("does not fit")).is_visible()


def test_a_swipe_over_the_board_moves_nothing_however_long_the_finger_rests_after_it(on_glass, plan):
    page, finger, address = on_glass.page, on_glass.finger, on_glass.page.url
    page.clock.install(time=START)  # a slow machine must not make a rest of the swipe
    page.clock.pause_at(START + timedelta(hours=1))

    finger("touchStart", *middle_of(on_glass.stop))
    finger("touchMove", *middle_of(on_glass.other_day))
    page.clock.run_for(600)
    assert page.locator(".board__stop--held").count() == 0
    finger("touchEnd")

    assert page.url == address
    assert stops(plan)[on_glass.key][0].on == on_glass.on


def test_work_is_moved_by_keyboard_alone(firm, plan, open_page):
    day, key = of_first_stop(plan)
    to = next(d for d in (TODAY + timedelta(days=i) for i in range(9, 14)) if d.isoweekday() <= 5)
    page = open_page(firm.coordinator, plan.get_absolute_url(), size=DESK)
    stop = page.locator(f"[data-board-stop='{key}']")

    stop.get_by_text("Move", exact=True).focus()
    page.keyboard.press("Enter")
    stop.get_by_label("On", exact=True).fill(to.isoformat())
    stop.get_by_role("button", name="Move it there").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")

    plan.refresh_from_db()
    moved = stops(plan)[key][0]
    assert (moved.crew, moved.on) == (day.crew, to)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_pages_of_plans_and_crews(firm, plan, open_page, accessible, scheme):
    crew = firm.organisation.crews.first()
    CrewAbsenceFactory(crew=crew)
    page = open_page(firm.coordinator, plan.get_absolute_url(), color_scheme=scheme)
    accessible(page)
    page.get_by_text("Move", exact=True).first.click()
    for path in (
        plan.get_absolute_url(),
        "/plans/",
        "/plans/new/",
        crew.get_absolute_url(),
        f"/crews/{crew.pk}/work/",
        f"/crews/{crew.pk}/absences/new/",
    ):
        page.goto(path)
        accessible(page)
