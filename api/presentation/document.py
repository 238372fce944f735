"""The description of the API in OpenAPI 3.1, and the same as plain data for the page that shows it.

Source of the format: OpenAPI Specification 3.1. What every operation shares (problems, fields of answers) is added here
once, instead of at each operation.
"""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from api.calc.problems import KINDS, MEDIA_TYPE, Kind

# Of what each method may answer besides what it is for.
SHARED = {"get": (401, 403, 406, 422, 429), "put": (400, 401, 403, 406, 409, 413, 415, 422, 429, 507)}
DONE = {
    ("get", "200"): "What was asked for.",
    ("put", "201"): "Stored.",
    ("put", "200"): "As it is stored: by an earlier sending of the same, or changed.",
}
OF_ONE, OF_EDITABLE = (404,), (412, 428)
EDITABLE = ("/api/sites/{key}", "/api/surfaces/{key}")
PROBLEM = {
    "type": "object",
    "description": "What is wrong and what to do, as RFC 9457 has it.",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string", "description": "The kind of problem, and where it is described."},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "What is wrong, with the value, and what to do."},
        "instance": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail"],
                "properties": {
                    "detail": {"type": "string"},
                    "pointer": {"type": "string", "description": "Where in the body (RFC 6901)."},
                    "parameter": {"type": "string"},
                    "value": {"description": "What stood there."},
                },
            },
        },
    },
}


def described(made: Mapping[str, Any]) -> dict[str, Any]:
    """The description as the library makes it, with problems, headers and conditions."""
    document = deepcopy(dict(made))
    document["components"]["schemas"]["Problem"] = PROBLEM
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            _describe(path, method, operation)
    return document


def _describe(path: str, method: str, operation: dict[str, Any]) -> None:
    responses = operation["responses"] = {str(status): one for status, one in operation["responses"].items()}
    for status, answer in responses.items():
        answer["description"] = DONE[method, status]
    if "{key}" in path:
        _describe_marks(path, method, operation)
    statuses = {*SHARED[method], *(OF_ONE if "{key}" in path else (400,))}
    statuses |= set(OF_EDITABLE) if (method, path) in [("put", one) for one in EDITABLE] else set()
    for status in sorted(statuses):
        content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
        responses[str(status)] = {"description": KINDS[status].title, "content": content}


def _describe_marks(path: str, method: str, operation: dict[str, Any]) -> None:
    mark = {"ETag": {"description": "The mark of this answer.", "schema": {"type": "string"}}}
    for answer in operation["responses"].values():
        answer["headers"] = mark
    asked = operation.setdefault("parameters", [])
    if method == "get":
        operation["responses"]["304"] = {"description": "You have it as it is."}
        asked.append(
            _field("If-None-Match", "The ETag of what you have: the answer is 304 while it is the same.")
        )
    elif path in EDITABLE:
        asked.append(_field("If-Match", "To change a row: its ETag as you read it."))


def _field(name: str, about: str) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": False,
        "description": about,
        "schema": {"type": "string"},
    }


# ---- the page --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Member:
    """One name of a body, an answer or an address: what it holds, and what is said of it."""

    name: str
    kind: str
    about: str
    is_required: bool = False

    @property
    def parts(self) -> list[tuple[str, bool]]:
        """What is said of it, with what is code told apart."""
        return in_parts(self.about)


@dataclass(frozen=True, slots=True)
class Part:
    """A body or an answer by its members. anchor: of the description of its kind, further down the page."""

    title: str
    anchor: str


@dataclass(frozen=True, slots=True)
class OperationPart:
    """One method at one address."""

    anchor: str
    method: str
    path: str
    about: str
    scope: str
    asked: Sequence[Member]
    body: Part | None
    answers: Sequence[tuple[str, str, Part | None]]

    @property
    def parts(self) -> list[tuple[str, bool]]:
        """What it does, with what is code told apart."""
        return in_parts(self.about)


@dataclass(frozen=True, slots=True)
class KindPart:
    """What an object holds."""

    anchor: str
    name: str
    about: str
    members: Sequence[Member]
    choices: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class DocumentPage:
    """The whole page. groups: title, anchor and operations of each."""

    title: str
    version: str
    about: str
    groups: Sequence[tuple[str, str, Sequence[OperationPart]]]
    kinds: Sequence[KindPart]
    problems: Sequence[tuple[int, Kind]]


def page_of(document: Mapping[str, Any]) -> DocumentPage:
    """The description as the page shows it."""
    groups: dict[str, list[OperationPart]] = {}
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            groups.setdefault(operation["tags"][0], []).append(_operation(path, method, operation))
    info = document["info"]
    return DocumentPage(
        info["title"],
        info["version"],
        info["description"],
        [(title, f"group-{title.lower()}", found) for title, found in groups.items()],
        [_kind(name, schema) for name, schema in sorted(document["components"]["schemas"].items())],
        sorted(KINDS.items()),
    )


def _operation(path: str, method: str, operation: Mapping[str, Any]) -> OperationPart:
    body = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    return OperationPart(
        anchor=str(operation["operationId"]).replace("_", "-"),
        method=method.upper(),
        path=path,
        about=operation.get("description", ""),
        scope=operation.get("x-scope", ""),
        asked=[_asked(one) for one in operation.get("parameters", ())],
        body=_part(body.get("schema")),
        answers=[
            (status, one["description"], _answered(one)) for status, one in operation["responses"].items()
        ],
    )


def _answered(answer: Mapping[str, Any]) -> Part | None:
    contents = list(answer.get("content", {}).values())
    return _part(contents[0].get("schema")) if contents else None


def _part(schema: Mapping[str, Any] | None) -> Part | None:
    name = _ref(schema or {})
    return Part(name, _anchor(name)) if name else None


def _asked(one: Mapping[str, Any]) -> Member:
    kind, about = _kind_words(one["schema"]), one.get("description") or one["schema"].get("description", "")
    return Member(one["name"], f"{kind}, in the {one['in']}", about, bool(one.get("required")))


def _kind(name: str, schema: Mapping[str, Any]) -> KindPart:
    required = set(schema.get("required", ()))
    members = [
        Member(key, _kind_words(one), one.get("description", ""), key in required)
        for key, one in schema.get("properties", {}).items()
    ]
    choices = [str(value) for value in schema.get("enum", ())]
    return KindPart(_anchor(name), name, schema.get("description", ""), members, choices)


def _kind_words(schema: Mapping[str, Any]) -> str:
    """What a value is, in words: "list of WellOut", "text (date), or null"."""
    several = schema.get("anyOf") or schema.get("oneOf")
    if several:
        return ", or ".join(dict.fromkeys(_kind_words(one) for one in several))
    if name := _ref(schema):
        return name
    if "const" in schema or "enum" in schema:
        return " | ".join(f"“{one}”" for one in schema.get("enum", [schema.get("const")]))
    words = _WORDS.get(str(schema.get("type")), "anything")
    if words == "list":
        return f"list of {_kind_words(schema.get('items', {}))}"
    return f"{words} ({schema['format']})" if "format" in schema else words


_WORDS = {
    "string": "text",
    "integer": "whole number",
    "number": "number",
    "boolean": "yes or no",
    "array": "list",
    "object": "object",
    "null": "null",
}


def in_parts(text: str) -> list[tuple[str, bool]]:
    """A text with code between backticks, in parts: each with whether it is code."""
    return [(part, place % 2 == 1) for place, part in enumerate(text.split("`")) if part]


def _ref(schema: Mapping[str, Any]) -> str:
    wrapped = schema.get("allOf", ())
    found = schema.get("$ref") or (wrapped[0].get("$ref") if wrapped else "")
    return str(found or "").rpartition("/")[2]


def _anchor(name: str) -> str:
    return f"kind-{name.lower()}"
