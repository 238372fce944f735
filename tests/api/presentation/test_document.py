"""The description of the API, and the page that shows it."""

import pytest

from api.calc.problems import KINDS
from api.calc.scopes import Scope
from api.presentation.document import described, in_parts, page_of
from api.views.docs import document, document_page
from tests.permissions import API_READS, API_WRITES


def operations():
    for path, methods in document()["paths"].items():
        for method, operation in methods.items():
            yield f"{method} {path}", operation


OPERATIONS = dict(operations())
UNITS = ("_mm_h", "_mm", "_m", "_m2", "_m3", "_kg", "_c", "_h", "_deg", "_bar", "_percent", "_percent_yr")
# As read, with the unit or the unit system beside; a kept document says its units itself.
WITH_UNIT_BESIDE = ("ResultOut", "ReadingsOut", "TestIn", "DeviationOut", "ReportWithContent")


def test_it_is_of_the_edition_it_says_and_holds_every_address():
    assert document()["openapi"] == "3.1.0"
    reads = {f"get {path.format('{key}')}" for path, _, _ in API_READS.values()}
    writes = {f"put /api/{kind}/{{key}}" for kind in API_WRITES}
    assert set(OPERATIONS) == reads | writes


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_says_what_it_does_and_what_it_takes(name):
    operation = OPERATIONS[name]

    assert operation["description"].strip().endswith(".")
    assert operation["x-scope"] in {scope.value for scope in Scope} | {"any"}
    assert operation["security"] == [{"Bearer": []}]


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_refusal_is_described_as_a_problem(name):
    responses = OPERATIONS[name]["responses"]
    refusals = {status: one for status, one in responses.items() if status >= "400"}

    assert {"401", "403", "429"} <= refusals.keys()
    assert all(list(one["content"]) == ["application/problem+json"] for one in refusals.values())
    assert {int(status) for status in refusals} <= KINDS.keys()


def test_conditions_are_described_where_they_hold():
    site, round_ = OPERATIONS["put /api/sites/{key}"], OPERATIONS["put /api/rounds/{key}"]

    assert {"412", "428"} <= site["responses"].keys()
    assert not {"412", "428"} & round_["responses"].keys()
    assert "304" in OPERATIONS["get /api/tests/{key}"]["responses"]
    assert "ETag" in site["responses"]["201"]["headers"]


def test_observations_have_the_words_of_the_standards():
    members = document()["components"]["schemas"]["TestOut"]["properties"]

    words = {
        "observedProperty",
        "procedure",
        "phenomenonTime",
        "resultTime",
        "hasFeatureOfInterest",
        "result",
    }
    assert words <= members.keys()


def test_every_member_that_holds_a_number_names_its_unit():
    """As the columns do: a number alone would be read in whatever unit the reader expects."""
    bare = {
        f"{kind}.{name}"
        for kind, schema in document()["components"]["schemas"].items()
        for name, member in schema.get("properties", {}).items()
        if "number" in str(member) and kind not in WITH_UNIT_BESIDE
        if not name.endswith(UNITS) and not any(word in name for word in ("share", "factor", "hours"))
    }

    assert bare == set()


def test_describing_leaves_what_was_made_alone():
    made = {
        "components": {"schemas": {}},
        "paths": {"/api/me": {"get": {"responses": {"200": {"description": "OK"}}}}},
    }

    described(made)

    assert made["components"]["schemas"] == {}


# ---- the page ---------------------------------------------------------------------------------------------


def test_the_page_has_a_place_for_all_that_it_links_to():
    page = document_page()
    anchors = {kind.anchor for kind in page.kinds}
    asked = [one for _, _, found in page.groups for one in found]

    parts = [part for one in asked for part in (one.body, *(part for _, _, part in one.answers)) if part]
    assert {part.anchor for part in parts} <= anchors
    assert len({one.anchor for one in asked}) == len(asked) == len(OPERATIONS)


def kind_words(**schema):
    document = {
        "info": {"title": "", "version": "", "description": ""},
        "paths": {},
        "components": {"schemas": {"A": {"properties": {"it": schema}}}},
    }
    return page_of(document).kinds[0].members[0].kind


@pytest.mark.parametrize(
    ("schema", "said"),
    [
        ({"type": "string"}, "text"),
        ({"type": "string", "format": "date"}, "text (date)"),
        ({"anyOf": [{"type": "number"}, {"type": "null"}]}, "number, or null"),
        ({"type": "array", "items": {"$ref": "#/components/schemas/WellOut"}}, "list of WellOut"),
        ({"allOf": [{"$ref": "#/components/schemas/Zone"}]}, "Zone"),
        ({"enum": ["=", "<"]}, "“=” | “<”"),
        ({"const": "Observation"}, "“Observation”"),
        ({}, "anything"),
    ],
)
def test_what_a_value_is_is_said_in_words(schema, said):
    assert kind_words(**schema) == said


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", []),
        ("plain", [("plain", False)]),
        ("ask `since` first", [("ask ", False), ("since", True), (" first", False)]),
        ("`next`", [("next", True)]),
    ],
)
def test_code_in_a_text_is_told_apart(text, parts):
    assert in_parts(text) == parts
