"""What the addresses of the API are held to, whoever answers."""

import pytest
from django.test import Client

from tests.api.calling import program_of

pytestmark = pytest.mark.django_db
PROBLEM = "application/problem+json"


def is_problem(answer, status):
    told = answer.json()
    assert (answer.status_code, told["status"]) == (status, status)
    assert answer.headers["Content-Type"] == PROBLEM
    assert {"type", "title", "detail", "instance"} <= told.keys()
    assert told["type"].startswith("/api/docs/#problem-")
    return told


def test_an_address_that_is_none_is_answered_as_a_problem(client):
    told = is_problem(client.get("/api/nothing"), 404)

    assert "/api/nothing" in told["detail"]


@pytest.mark.parametrize("path", ["/api/sites/1", "/api/sites/", "/api/", "/api/sites/%00"])
def test_so_are_ids_that_are_none_and_other_slips(client, path):
    is_problem(client.get(path), 404)


def test_a_fault_of_the_server_says_that_nothing_was_stored(firm, monkeypatch):
    def fails(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr("api.views.reading.rows.sites", fails)
    program = program_of(firm, client=Client(raise_request_exception=False))

    told = is_problem(program.get("/api/sites"), 500)

    assert "Nothing was stored" in told["detail"]
    assert "ZeroDivision" not in str(told)


def test_whoever_takes_no_json_is_told_so(firm):
    program = program_of(firm)

    is_problem(program.get("/api/me", Accept="text/csv"), 406)
    assert program.get("/api/me", Accept="text/html, application/json;q=0.1").status_code == 200
    assert program.get("/api/me", Accept="*/*").status_code == 200


def test_another_character_set_is_refused_as_a_problem(firm):
    answer = program_of(firm).make("rounds", "{}", content_type="application/json; charset=utf-16")[1]

    is_problem(answer, 415)


def test_a_large_body_is_refused_without_a_token_too(client):
    answer = client.put("/api/rounds/x", "x" * 70_000, content_type="application/json")

    is_problem(answer, 413)


def test_no_answer_is_kept_and_none_may_load_anything(firm):
    for answer in (program_of(firm).get("/api/me"), Client().get("/api/nothing")):
        assert answer.headers["Cache-Control"] == "no-store, private"
        assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "Authorization" in answer.headers["Vary"]
        assert not answer.cookies


def test_a_form_of_another_site_gets_nowhere_with_a_persons_session(firm):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(firm.admin)

    is_problem(browser.get("/api/sites"), 401)
    is_problem(browser.post("/api/sites", {"name": "x"}), 405)
    answer = browser.put(f"/api/sites/{firm.site.pk}", "{}", content_type="application/json")
    is_problem(answer, 401)


def test_a_token_needs_no_form_token(firm):
    program = program_of(firm, client=Client(enforce_csrf_checks=True))

    assert program.make("rounds", {})[1].status_code == 422


def test_the_page_keeps_its_session_and_its_policy(client, firm):
    client.force_login(firm.admin)

    page = client.get("/api/docs/")

    assert "Tokens" in page.content.decode()
    assert "script-src 'self'" in page.headers["Content-Security-Policy"]


def test_a_page_besides_the_api_is_left_alone(client):
    assert client.get("/nothing-here/").headers["Content-Type"].startswith("text/html")
