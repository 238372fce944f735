"""The API against its own description: schemathesis asks all that the description allows, and what it does not.

Seeded, so that a run finds what the run before it found. What holds for a record beyond its shape (a day to come, a
surface of somebody else) is refused with 422: that a well-formed body may be refused is no finding.
"""

from http import HTTPStatus

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    ignored_auth,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from config.wsgi import application
from maintenance.models import Forecast
from tests.api.calling import program_of


def server(environ, start_response):
    """The program as a server calls it: a server tells where a request comes from."""
    return application({"REMOTE_ADDR": "192.0.2.7"} | environ, start_response)


# Boundary values by the dozen take a minute; what is drawn finds as much of what such a description can get wrong.
DRAWN = SchemathesisConfig.from_dict({"phases": {"coverage": {"enabled": False}}})
schema = schemathesis.openapi.from_wsgi("/api/openapi.json", server, config=DRAWN)
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
ROW_OF = {"reports": "kept"}
FINE = (HTTPStatus.OK, HTTPStatus.NOT_MODIFIED, HTTPStatus.UNPROCESSABLE_ENTITY)
FEW = settings(
    max_examples=8,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture
def firm(furnished):
    furnished.rows["forecast"] = Forecast.objects.get_or_create(surface=furnished.surface)[0].pk
    return furnished


@pytest.fixture
def program(firm, monkeypatch):
    """A program with every scope, and a server in this process that keeps its hands off the test's connection."""
    monkeypatch.setattr("api.calc.rate.QUOTA", 10**6)
    monkeypatch.setattr("accounts.views.secret_addresses.MOST_UNKNOWN", 10**6)
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield program_of(firm)
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


def stored_row(case, firm):
    """The id of a row that is there, for an address that names one."""
    kind = case.operation.path.split("/")[2]
    return str(firm.rows[ROW_OF.get(kind, kind.removesuffix("s"))])


def asked(case, program, *checks):
    return case.call_and_validate(headers={"Authorization": f"Bearer {program.secret}"}, checks=list(checks))


@schema.parametrize()
@FEW
def test_every_answer_is_as_described(case, firm, program):
    asked(case, program, *CHECKS)
    if isinstance(case.body, dict) and case.meta.generation.mode.is_positive:
        names = {"surface": "surface", "site": "site", "owner": "owner", "round": "round"}
        case.body |= {name: str(firm.rows[row]) for name, row in names.items() if name in case.body}
        asked(case, program, *CHECKS)
    if "key" in case.path_parameters and case.method == "GET":
        case.path_parameters["key"] = stored_row(case, firm)
        answer = asked(case, program, *CHECKS)
        if "Authorization" in answer.request.headers:  # it tries without, too
            assert answer.status_code in FINE


@schema.parametrize()
@settings(FEW, max_examples=1)
def test_nobody_is_let_in_without_a_token_nor_by_another_method(case, program):
    asked(case, program, ignored_auth, unsupported_method)
