"""The whole job in a real browser: register, test, clean, decide, plan, do, report."""

from datetime import date, timedelta

import pytest
from django.utils.timezone import localdate
from PIL import Image

from maintenance.models import CleaningEvent, Forecast, Recommendation
from planning.models import VisitTask
from qa.models import InfiltrationTest, InspectionFinding, Layer, Surface
from tests.browser.conftest import DESK, press, to_step
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    InspectionFindingFactory,
    RemedyFactory,
    RoundFactory,
    SourceChangeFactory,
)

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_coordinator_registers_a_site_and_a_surface(firm, open_page, accessible):
    page = open_page(firm.coordinator, f"/owners/{firm.owner.pk}/", size=DESK)
    accessible(page)
    page.get_by_role("link", name="Add a site").click()
    accessible(page)
    page.get_by_label("Name").fill("Weir Park")
    to_step(page, "Time zone")
    page.get_by_label("Time zone").select_option("UTC")
    page.get_by_role("group", name="Frost months").get_by_label("January").check()
    to_step(page)
    page.get_by_role("button", name="Save the site").click()
    page.get_by_role("link", name="Add a surface").first.click()
    accessible(page)
    page.get_by_label("Name").fill("Car park")
    page.get_by_label("Type").select_option("picp")
    page.get_by_label("Area, in m²").fill("-5")
    page.get_by_label("Opened on").fill("2022-04-01")
    to_step(page)
    press(page, "Save the surface")
    assert page.get_by_role("alert").is_visible()
    accessible(page)
    assert page.get_by_label("Name").input_value() == "Car park"
    page.get_by_label("Area, in m²").fill("1200")
    fill_limit(page)
    to_step(page)
    page.get_by_role("button", name="Save the surface").click()
    page.get_by_role("heading", name="Car park").wait_for()
    accessible(page)

    page.get_by_role("link", name="Enter the build-up").click()
    accessible(page)
    to_step(page)
    press(page, "Save the build-up")
    page.get_by_role("img").first.wait_for()
    accessible(page)

    surface = Surface.objects.get(name="Car park")
    assert surface.area_m2 == 1200
    assert list(Layer.objects.filter(surface=surface).values_list("position", flat=True)) == [
        1,
        2,
        3,
        4,
        5,
        6,
        7,
    ]
    assert Forecast.objects.get(surface=surface).surface_state == "not_tested"


def fill_limit(page):
    """An agreed value, as the simplest limit."""
    to_step(page, "A design rain")
    page.get_by_label("Agreed limit").fill("250")
    page.get_by_label("Where it is agreed").fill("Agreed with the owner")


def test_a_technician_records_a_ring_test_on_a_phone(firm, open_page, accessible):
    page = open_page(firm.technician, firm.surface.get_absolute_url())
    page.get_by_role("link", name="Record a test").first.click()
    accessible(page)
    page.get_by_label("Hours since the last rain").fill("72")
    page.get_by_role("button", name="Go on to the tests").click()
    page.get_by_role("link", name="First test").first.click()
    accessible(page)
    page.get_by_label("Spot, if not a fixed location").fill("By the gate")
    page.get_by_label("Prewet time").fill("45")
    page.get_by_label("Test mass").fill("3.6")
    page.get_by_label("Start after prewetting").fill("150")
    page.get_by_label("Elapsed time").fill("150")
    page.get_by_text("count as an upper bound only").wait_for()  # told before it is saved
    page.get_by_label("Save it all the same").wait_for()
    accessible(page)
    page.get_by_label("Start after prewetting").fill("90")  # prewetted and started again
    page.get_by_text("count as an upper bound only").wait_for(state="detached")
    page.get_by_role("button", name="Save the test").click()
    page.get_by_text("Test at By the gate stored").wait_for()
    accessible(page)

    test = InfiltrationTest.objects.get()
    assert test.rate_mm_h == pytest.approx(1222.31, rel=1e-5)
    assert (test.deviations, test.is_valid) == ((), True)
    assert Forecast.objects.get(surface=firm.surface).surface_state == "draining"


def test_from_advice_to_a_visit_that_is_done_by_its_record(firm, open_page, accessible):
    surface = failing_surface(firm)
    page = open_page(firm.coordinator, "/visits/", size=DESK)
    page.get_by_role("link", name="Add a crew").click()
    page.get_by_label("Name").fill("Crew one")
    press(page, "Save the crew")
    page.goto(surface.get_absolute_url())
    press(page, "Update the forecast")
    page.goto("/")
    accessible(page)
    page.get_by_role("checkbox", name="Choose").first.check()
    press(page, "Plan on a visit")
    accessible(page)
    page.get_by_label("Crew").select_option(label="Crew one")
    page.get_by_label("On", exact=True).fill(localdate().isoformat())
    if Recommendation.objects.get(surface=surface, action__in=("clean", "rejoint")).action == "rejoint":
        page.get_by_label("I have looked at the newest test and at the price").check()
    press(page, "Put it on the visit")
    page.get_by_text("1 piece of advice on the visit").wait_for()
    page.get_by_role("link", name="Crew one").first.click()
    page.get_by_role("heading", name="Crew one").wait_for()
    accessible(page)
    advice = Recommendation.objects.get(surface=surface, status="planned")
    assert advice.action in ("clean", "rejoint")

    crew_page = open_page(firm.technician, page.url)
    crew_page.get_by_role("link", name="Record the cleaning").click()
    accessible(crew_page)
    crew_page.get_by_label("Dry").check()
    press(crew_page, "Save the cleaning")
    crew_page.get_by_text("done", exact=True).first.wait_for()
    assert crew_page.url == page.url
    accessible(crew_page)

    task = VisitTask.objects.get(recommendation=advice)
    assert task.cleaning == CleaningEvent.objects.get(surface=surface)
    assert task.visit.status == "done"
    advice.refresh_from_db()
    assert advice.status == "done"


def test_a_technician_records_inspections_on_a_phone_and_what_is_found_becomes_work(
    firm, open_page, accessible, tmp_path
):
    page = open_page(firm.technician, firm.surface.get_absolute_url())
    press(page, "Record an inspection", "link")
    accessible(page)
    press(page, "All in order: save")
    page.get_by_text("Inspection stored: all in order.").wait_for()
    accessible(page)

    page.goto(f"/surfaces/{firm.surface.pk}/inspections/new/")
    for group in ("water", "the surface", "what clogs it", "snow and salt"):
        page.get_by_label(f"All in order: {group}").check()
    page.get_by_text("One by one: weeds").click()
    picture = tmp_path / "sand.jpg"
    Image.new("RGB", (60, 40)).save(picture)
    for item, what in (("sediment", "Sand along the bed"), ("weeds", "Moss in the joints")):
        one = page.locator(".inspection-item", has=page.locator(f"[name={item}-answer]"))
        assert one.get_by_label("What is wrong").is_hidden()
        one.get_by_label("Something is wrong").check()
        one.get_by_label("What is wrong").fill(what)
        one.locator("input[type=file]").set_input_files(picture)
    accessible(page)
    press(page, "Save the inspection")
    page.get_by_text("Inspection stored: 2 findings, open.").wait_for()
    accessible(page)
    press(page, "Sediment on it: Sand along the bed", "link")
    accessible(page)
    press(page, "The source was stopped", "link")
    accessible(page)

    page.goto("/")
    page.get_by_role("heading", name="Found on inspections").wait_for()
    accessible(page)
    press(page, "Weeds and moss: Moss in the joints", "link")
    press(page, "Say what was done", "link")
    accessible(page)
    page.get_by_label("What was done").fill("Brushed off")
    press(page, "Save: corrected")
    page.get_by_text("corrected", exact=True).wait_for()
    assert [f.item for f in InspectionFinding.objects.to_do()] == ["sediment"]


def test_axe_finds_nothing_on_the_pages_of_inspections(firm, open_page, accessible_by_day_and_night):
    remedy = RemedyFactory(finding__inspection__surface=firm.surface)
    finding = InspectionFindingFactory(inspection=remedy.finding.inspection, item="planting")
    change = SourceChangeFactory(surface=firm.surface)
    surface = f"/surfaces/{firm.surface.pk}"
    page = open_page(firm.coordinator, f"{surface}/inspections/new/")
    for path in (
        f"{surface}/inspections/new/",
        f"{surface}/source/new/",
        f"{surface}/handover/",
        remedy.finding.inspection.get_absolute_url(),
        f"/inspections/{finding.inspection_id}/found/new/?item=joints",
        finding.get_absolute_url(),
        remedy.get_absolute_url(),
        f"/found/{finding.pk}/correct/",
        f"/found/{finding.pk}/put-right/",
        f"/found/{finding.pk}/plan/",
        f"/found/{finding.pk}/files/new/",
        change.get_absolute_url(),
        f"/source-changes/{change.pk}/set-aside/",
        surface + "/",
        "/",
    ):
        page.goto(path)
        accessible_by_day_and_night(page)


def failing_surface(firm) -> Surface:
    """Well below its limit, tested last month."""
    surface = firm.surface
    for years, elapsed_s in ((4, 60.0), (2, 600.0), (0.1, 1500.0)):
        day = localdate() - timedelta(days=round(years * 365))
        round_ = RoundFactory(surface=surface, tested_on=day)
        for spot in ("a", "b", "c"):
            InfiltrationTestFactory(round=round_, spot=spot, elapsed_s=elapsed_s)
    return surface


def open_first_chart(page):
    page.get_by_role("button", name="Read values from the chart").first.click()
    page.locator(".chart__plot .main-svg").first.wait_for()


def test_an_owner_reads_the_report_and_nothing_else(firm, open_page, accessible):
    surface = failing_surface(firm)
    CleaningFactory(surface=surface, cleaned_on=date(2024, 5, 1))
    technician = open_page(firm.technician, surface.get_absolute_url())
    press(technician, "Update the forecast")

    page = open_page(firm.owner_person, "/")
    accessible(page)
    assert page.get_by_role("link", name="Visits").count() == 0
    page.get_by_role("link", name="Report of").click()
    page.get_by_role("heading", name=f"Report of {firm.site}").wait_for()
    accessible(page)
    page.get_by_text("The chance that it is below its limit").first.wait_for()
    page.goto(surface.get_absolute_url())
    open_first_chart(page)
    accessible(page)
    assert page.get_by_role("link", name="Record a test").count() == 0


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/surfaces/",
        "/visits/",
        "/visits/new/",
        "/reports/",
        "/firm/",
        "/firm/settings/",
        "/firm/methods/",
        "/firm/invite/",
        "/portfolio/",
        "/me/",
        "/owners/new/",
        "/sites/new/",
        "/crews/new/",
        "/sign-in/password/change/",
        "/nowhere/",
    ],
)
def test_axe_finds_nothing_on_the_pages_of_the_office(firm, open_page, accessible_by_day_and_night, path):
    page = open_page(firm.admin, path)

    accessible_by_day_and_night(page)
