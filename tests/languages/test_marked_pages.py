"""Every page of the table of permissions, in a language that shows what nobody marked for translation."""

import pytest
from django.urls import reverse

from tests.languages.pseudo import bracket, unmarked, written_by_people
from tests.permissions import TABLE

READERS = ("admin", "owner_person")
# Documents as they were made, in the language of then.
KEPT = {"reporting:kept-show", "reporting:shared-show"}
EXAMPLES = ("time,rain_mm",)  # heads of a file, which are those of its format in every language
PAGES = [route for route, (method, *_) in TABLE.items() if method == "get" and route not in KEPT]


@pytest.fixture
def firm(furnished):
    return furnished


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("route", PAGES)
def test_nothing_on_a_page_is_said_in_english_alone(client, firm, monkeypatch, route, reader):
    kind = TABLE[route][1]
    client.force_login(getattr(firm, reader))
    bracket(monkeypatch)

    answer = client.get(
        reverse(route, args=[firm.rows[kind]] if kind else []), {"organisation": str(firm.organisation.pk)}
    )

    if answer.status_code == 200 and answer.get("Content-Type", "").startswith("text/html"):
        left = unmarked(answer.content.decode(), [*written_by_people(), *EXAMPLES])
        assert not left, "\n".join(left)
