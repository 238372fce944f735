"""Every route, asked by every kind of person; and what every page has to be, asked of the same answers."""

import pytest
from django.urls import get_resolver, reverse

from tests.languages.test_days import days_for_machines
from tests.permissions import ACTORS, API_READS, ELSEWHERE, TABLE
from tests.security.test_other_firms_rows import untried
from tests.test_names_of_pages import is_named, titled_otherwise
from tests.test_stale_forms import marks_held_nowhere
from tests.test_words_in_place import WORDED, words_missing

READERS = ("admin", "owner_person")  # between them they see every page
CASES = [(route, actor, spec[2][i]) for route, spec in TABLE.items() for i, actor in enumerate(ACTORS)]


@pytest.fixture
def firm(furnished):
    return furnished


def url_of(route, rows):
    kind = TABLE[route][1]
    return reverse(route, args=[rows[kind]] if kind else [])


def log_in(client, firm, actor):
    if actor != "anonymous":
        client.force_login(getattr(firm, actor))


@pytest.mark.parametrize(("route", "actor", "status"), CASES)
def test_access(client, firm, route, actor, status):
    rows = firm.rows
    log_in(client, firm, actor)
    data = {"organisation": str(firm.organisation.pk)}

    response = getattr(client, TABLE[route][0])(url_of(route, rows), data)

    assert response.status_code == status
    if actor == "anonymous" and status == 302:
        assert response.url.startswith(reverse("account_login"))
    if status == 401:
        assert response.json()["code"] == "signed_out", "a script must not take a page for its answer"
    if actor in READERS and status == 200 and response["Content-Type"].startswith("text/html"):
        assert faults_of_page(response.content.decode(), route, actor) == {}
    if actor == "admin" and status == 200 and TABLE[route][0] == "get":
        assert untried(response, route) == [], "a field that names rows"


def faults_of_page(page, route, reader):
    """What is wrong with a page whoever opens it, by what was looked for."""
    faults = {"days as machines write them": days_for_machines(page, route)}
    if reader == "admin" and TABLE[route][0] == "get":
        faults["title and heading"] = titled_otherwise(page, route) if is_named(route) else []
        faults["words without a meaning"] = words_missing(page) if route.startswith(WORDED) else []
        faults["marks of a row"] = marks_held_nowhere(page, route)
    return {looked_for: found for looked_for, found in faults.items() if found}


def test_each_fault_of_a_page_is_told():
    page = "<title>Rounds</title><h1>Tests</h1><dl><dt>Rate now</dt><dd>on 2026-06-10</dd></dl>"
    page += '<input type="hidden" name="form-seen" value="area_m2">'

    assert len(faults_of_page(page, "maintenance:surface-list", "admin")) == 4
    assert list(faults_of_page(page, "maintenance:surface-list", "owner_person")) == [
        "days as machines write them"
    ]


def test_every_route_is_in_the_table():
    routes = set(_routes(get_resolver(), ""))

    ours = {route for route in routes if not route.startswith(ELSEWHERE)}

    assert ours == set(TABLE) | set(API_READS)  # those of programs: tests/api/test_permissions.py


def _routes(resolver, namespace):
    for pattern in resolver.url_patterns:
        if hasattr(pattern, "url_patterns"):
            inner = f"{pattern.namespace}:" if pattern.namespace else ""
            yield from _routes(pattern, namespace + inner)
        elif pattern.name:
            yield namespace + pattern.name
        else:
            yield f"{namespace}(no name) {pattern.pattern}"


@pytest.mark.parametrize("route", [route for route, spec in TABLE.items() if spec[0] != "get"])
def test_a_change_is_refused_to_a_get(client, firm, route):
    rows = firm.rows
    client.force_login(firm.admin)

    response = client.get(url_of(route, rows))

    assert response.status_code == 405


@pytest.mark.parametrize("route", ["maintenance:surface-list", "reporting:report-list", "reporting:start"])
def test_a_strangers_list_is_empty(client, firm, route):
    client.force_login(firm.outsider)

    page = client.get(reverse(route)).content.decode()

    assert firm.surface.name not in page
    assert firm.site.name not in page
