"""Lists as files: every list that is a table offers itself as one."""

import csv
from io import StringIO
from pathlib import Path

import pytest
from django.urls import reverse

from tests.factories import CrewFactory, VisitFactory

TEMPLATES = Path(__file__).resolve().parents[3] / "templates"


def text_of(answer):
    return b"".join(answer.streaming_content).decode()


def test_every_list_that_is_a_table_offers_itself_as_a_file():
    lists = [path for path in TEMPLATES.rglob("*.html") if "{% render_table" in path.read_text()]

    without = [path.name for path in lists if "exports.html" not in path.read_text()]

    assert lists
    assert set(without) <= {"_portfolio_part.html"}, without


@pytest.mark.parametrize("route", ["visit-list", "proposal-list", "release-list"])
def test_a_list_is_sent_as_a_file_with_its_columns(client, firm, route):
    client.force_login(firm.coordinator)

    answer = client.get(reverse(f"planning:{route}") + "?export=csv")

    assert answer["Content-Type"].startswith("text/csv")
    assert next(csv.reader(StringIO(text_of(answer))))


def test_visits_are_sent_in_the_order_of_the_address_and_without_formulas(client, firm):
    crew = CrewFactory(organisation=firm.organisation, name="=1+1")
    for day in ("2031-06-03", "2031-06-01"):
        VisitFactory(crew=crew, visit_on=day)
    client.force_login(firm.coordinator)

    answer = client.get(reverse("planning:visit-list") + "?export=csv&sort=visit_on")

    _, *lines = csv.reader(StringIO(text_of(answer)))
    assert [line[1] for line in lines] == ["'=1+1", "'=1+1"]
    assert [line[0] for line in lines] == sorted(line[0] for line in lines)
