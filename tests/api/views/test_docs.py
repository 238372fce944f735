"""The page for programmers, and the guide's example as it stands."""

import os
import re
import subprocess
from pathlib import Path

import pytest
from django.urls import reverse

from api.calc.paging import MOST_ROWS, USUAL_SIZE
from api.calc.rate import QUOTA, WINDOW_S
from api.presentation.document import page_of
from api.views.docs import document
from api.views.middleware import MOST_BYTES
from qa.models import InfiltrationTest
from tests.api.calling import program_of
from tests.needs import need
from tests.test_docs import text_of

GUIDE = "docs/api.md"


def test_the_description_is_open_to_everybody(client, db):
    answer = client.get("/api/openapi.json")

    assert answer.status_code == 200
    assert answer.json() == document()


def test_the_page_names_every_operation_and_every_kind_of_problem(client, db):
    page = client.get(reverse("api:docs")).content.decode()

    for _, _, operations in page_of(document()).groups:
        assert all(f"{one.method} {one.path}" in page for one in operations)
    assert 'id="problem-changed-since"' in page


def test_every_link_within_the_page_leads_somewhere_and_no_place_is_there_twice(client, db):
    page = client.get(reverse("api:docs")).content.decode()

    places = re.findall(r'\bid="([^"]+)"', page)
    assert len(places) == len(set(places))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(places)


def test_it_loads_nothing_from_elsewhere(client, db):
    page = client.get(reverse("api:docs"))

    loaded = re.findall(r'(?:src|href)="([^"#]+)"', page.content.decode())
    assert all(one.startswith("/") for one in loaded)


def test_the_address_without_its_stroke_leads_there(client, db):
    assert client.get("/api/docs").url == reverse("api:docs")


def script_of_the_guide():
    """The lines that are set as code in the worked example, without those that say where and who."""
    section = text_of(GUIDE).partition("by curl\n")[2].partition("\n## ")[0]
    lines = re.findall(r"(?m)^    (.*)$", section)
    return "\n".join(line for line in lines if not line.startswith(("API=", "TOKEN=")))


@pytest.mark.django_db(transaction=True)
def test_the_example_of_the_guide_does_what_it_says(firm, live_server):
    need("curl", "curl")
    program = program_of(firm, "technician")
    where = {"API": f"{live_server.url}/api", "TOKEN": program.secret, "SURFACE": str(firm.surface.pk)}

    done = subprocess.run(
        ["bash", "-e", "-c", script_of_the_guide()],
        env=os.environ | where,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )

    test = InfiltrationTest.objects.get()
    assert str(test.pk) in done.stdout
    assert '"bound":"="' in done.stdout
    assert test.round.surface == firm.surface
    assert test.recorded_by == firm.technician


def test_the_guide_names_the_limits_there_are():
    text = text_of(GUIDE)
    assert f"{QUOTA} requests a minute" in text
    assert WINDOW_S == 60
    assert f"({USUAL_SIZE}, at most {MOST_ROWS})" in text
    assert f"{MOST_BYTES // 1024} kB" in text
    assert Path(GUIDE).name in text_of("README.md")
