"""A crew's day on paper and on its page: who may have it, and what stands on it."""

import re
import subprocess

import pytest
from django.urls import reverse

from tests.clock import TODAY
from tests.factories import CrewFactory, SiteFactory, SurfaceFactory, VisitFactory, VisitTaskFactory
from tests.needs import need
from tests.reporting.papers import facts_of, words_of


@pytest.fixture
def visit(firm):
    crew = CrewFactory(
        organisation=firm.organisation, name="North", depot="Weir Road", latitude_deg=50.0, longitude_deg=10.0
    )
    visit = VisitFactory(crew=crew, visit_on=TODAY, note="Be quiet before eight.")
    for number, (lat, method) in enumerate([(50.2, ""), (50.1, "joint_refill"), (None, "")]):
        site = SiteFactory(
            owner=firm.owner, name=f"Place {number}", address=f"Lane {number}", access_note=f"Code {number}{number}",
            latitude_deg=lat, longitude_deg=10.0 if lat else None,
        )  # fmt: skip
        surface = SurfaceFactory(site=site, name=f"Court {number}", area_m2=100.0)
        VisitTaskFactory(visit=visit, surface=surface, action="rejoint" if method else "test", method=method)
    return visit


def paper(client, person, visit):
    client.force_login(person)
    return client.get(reverse("reporting:visit-paper", args=[visit.pk]))


def test_the_paper_tells_order_places_work_load_and_cautions(client, firm, visit, tmp_path):
    answer = paper(client, firm.coordinator, visit)
    words = words_of(answer.content, tmp_path)

    assert answer["Content-Disposition"].startswith('attachment; filename="day-north-')
    for said in (
        "Weir Road",
        "Be quiet before eight.",
        "Lane 1",
        "Code 11",
        "Locate utilities",
        "silica dust",
    ):
        assert said in words, said
    assert words.index("1. Place 1") < words.index("2. Place 0") < words.index("3. Place 2")
    assert "Place 2" in words.split("not on the map:")[1][:40]
    # 100 m² × 10.97 % joint × 75 mm × 1643 kg/m³, and a tenth more: 1487 kg.
    assert re.search(r"Court 1, Place 1 .*about 1490 kg", words)
    assert "Joint material, estimate" in words
    assert "21.6 to 64.8 L" in words
    assert "Plate compactor" in words


def test_it_is_tagged_for_screen_readers_and_has_a_code_for_each_surface(client, firm, visit, tmp_path):
    content = paper(client, firm.coordinator, visit).content

    assert facts_of(content, tmp_path)["Tagged"] == "yes"
    assert words_of(content, tmp_path).count("opens its page") == 3


def test_its_pages_can_be_drawn_and_are_not_empty(client, firm, visit, tmp_path):
    path = tmp_path / "day.pdf"
    path.write_bytes(paper(client, firm.coordinator, visit).content)
    subprocess.run(
        [need("pdftoppm", "poppler-utils"), "-r", "20", "-gray", path, tmp_path / "page"], check=True
    )

    pages = sorted(tmp_path.glob("page*.pgm"))
    assert len(pages) == int(facts_of(path.read_bytes(), tmp_path)["Pages"])
    assert all(min(page.read_bytes()[20:]) < 120 for page in pages)


def test_who_goes_out_with_the_crew_has_it_and_another_technician_has_not(client, firm, visit):
    assert paper(client, firm.technician, visit).status_code == 403
    visit.crew.people.add(firm.technician)

    assert paper(client, firm.technician, visit).status_code == 200
    page = client.get(reverse("planning:crew-day", args=[visit.crew_id])).content.decode()
    assert "The day on paper" in page


def test_who_may_not_have_it_is_not_offered_it(client, firm, visit):
    client.force_login(firm.viewer)

    page = client.get(reverse("planning:crew-day", args=[visit.crew_id])).content.decode()

    assert "Place 1" in page
    assert "The day on paper" not in page


def test_the_page_of_the_day_has_the_map_and_the_stops_in_its_order(client, firm, visit):
    client.force_login(firm.coordinator)
    page = client.get(
        reverse("planning:crew-day", args=[visit.crew_id]), {"on": TODAY.isoformat()}
    ).content.decode()

    assert 'role="img"' in page
    assert "From the depot to 1 Place 1, 2 Place 0, and back." in page
    assert page.index("1. Place 1") < page.index("2. Place 0") < page.index("3. Place 2")


def test_times_of_a_plan_give_the_order(client, firm, visit):
    visit.tasks.filter(surface__name="Court 2").update(begins_min=480, ends_min=540)
    client.force_login(firm.coordinator)

    page = client.get(reverse("planning:crew-day", args=[visit.crew_id])).content.decode()

    assert page.index("1. Place 2") < page.index("08:00 to 09:00") < page.index("2. Place")


def test_a_day_that_cannot_be_read_is_today_and_an_empty_one_says_so(client, firm, visit):
    client.force_login(firm.coordinator)
    url = reverse("planning:crew-day", args=[visit.crew_id])

    assert "Place 1" in client.get(url, {"on": "soon"}).content.decode()
    assert "No visit of this crew" in client.get(url, {"on": "2031-01-01"}).content.decode()
