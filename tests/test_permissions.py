"""Every route, asked by every kind of person."""

import pytest
from django.urls import get_resolver, reverse

from tests.permissions import ACTORS, API_READS, ELSEWHERE, TABLE

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
