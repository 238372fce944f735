"""Every address of the API, asked by every kind of person: no token, another firm's, an owner's, each role's."""

import pytest

from api.calc.scopes import Scope, Verb
from maintenance.models import Forecast
from tests.api.calling import program_of
from tests.api.views.test_writing import bodies
from tests.permissions import ACTORS, API_READS, API_WRITES

READS = [(route, who, spec[2][i]) for route, spec in API_READS.items() for i, who in enumerate(ACTORS)]
WRITES = [(kind, who, answers[i]) for kind, answers in API_WRITES.items() for i, who in enumerate(ACTORS)]


@pytest.fixture
def firm(furnished):
    furnished.rows["forecast"] = Forecast.objects.get_or_create(surface=furnished.surface)[0].pk
    return furnished


def address(route, firm):
    path, kind, _ = API_READS[route]
    return path.format(firm.rows[kind]) if kind else path


@pytest.mark.parametrize(("route", "who", "status"), READS)
def test_reading(client, firm, route, who, status):
    path = address(route, firm)

    answer = client.get(path) if who == "anonymous" else program_of(firm, who).get(path)

    assert answer.status_code == status, answer.content
    assert (answer.headers["Content-Type"] == "application/problem+json") == (status >= 400)


@pytest.mark.parametrize(("kind", "who", "status"), WRITES)
def test_writing(client, firm, kind, who, status):
    program = program_of(firm, "viewer" if who == "anonymous" else who)
    if who == "anonymous":
        program.secret = ""

    answer = program.make(kind, bodies(firm)[kind])[1]

    assert answer.status_code == status, answer.content


@pytest.mark.parametrize("route", API_READS)
def test_a_token_without_the_scope_is_refused_and_told_which(firm, route):
    kind = API_READS[route][0].split("/")[2].replace("owners", "sites")
    others = [scope for scope in Scope if scope.value != f"read:{kind}"]

    answer = program_of(firm, "admin", scopes=others).get(address(route, firm))

    if route == "api:me":
        assert answer.status_code == 200
        return
    assert answer.status_code == 403
    assert f"read:{kind}" in answer.json()["detail"]
    assert f'scope="read:{kind}"' in answer.headers["WWW-Authenticate"]


@pytest.mark.parametrize("kind", API_WRITES)
def test_reading_is_no_permission_to_write(firm, kind):
    reads = [scope for scope in Scope if scope.verb is Verb.READ]

    assert program_of(firm, "admin", scopes=reads).make(kind, bodies(firm)[kind])[1].status_code == 403


@pytest.mark.parametrize("route", API_READS)
def test_a_session_is_no_token(client, firm, route):
    """Another site that a signed-in person visits could else have their browser send what they may."""
    client.force_login(firm.admin)

    assert client.get(address(route, firm)).status_code == 401


@pytest.mark.parametrize("kind", API_WRITES)
def test_nor_may_a_session_write(client, firm, kind):
    client.force_login(firm.admin)
    path = f"/api/{kind}/{firm.rows['site']}"

    assert client.put(path, "{}", content_type="application/json").status_code == 401


@pytest.mark.parametrize("method", ["post", "patch", "delete", "options"])
@pytest.mark.parametrize("route", API_READS)
def test_other_methods_are_told_which_there_are(firm, route, method):
    program = program_of(firm, "admin")

    answer = getattr(program.client, method)(
        address(route, firm), headers={"Authorization": f"Bearer {program.secret}"}
    )

    assert answer.status_code == 405
    assert "GET" in answer.headers["Allow"]
    assert answer.headers["Content-Type"] == "application/problem+json"
