"""The shape of the code: what may import what, where queries live, how long things get, what must be said."""

import ast
import re
import statistics
from pathlib import Path

import pytest
from django.apps import apps
from django.db import models
from django.template.base import Lexer, TokenType
from django.template.smartif import OPERATORS
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = (
    "accounts",
    "api",
    "clogging",
    "config",
    "core",
    "demo",
    "fieldwork",
    "exchange",
    "maintenance",
    "operations",
    "planning",
    "qa",
    "reporting",
)
LONGEST_FILE, LONGEST_FUNCTION, USUAL_FUNCTION, MEDIAN_FUNCTION = 600, 50, 30, 8
THICKEST_VIEW = 25  # about fifteen is usual; a call spread over lines by the formatter takes more
LONGEST_TEMPLATE, WIDEST_TEMPLATE_LINE, DEEPEST_TEMPLATE = 120, 120, 4
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))


def modules():
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path


def name_of(path):
    return str(path.relative_to(ROOT))


def functions_of(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def lines_of(function):
    """Lines of the body without its docstring."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def gives_a_reason(path, function):
    """Whether the line above the function is a comment: the place to say why it is so long."""
    first = min([function.lineno, *(d.lineno for d in function.decorator_list)])
    return first > 1 and path.read_text(encoding="utf-8").splitlines()[first - 2].lstrip().startswith("#")


def test_imports_keep_their_direction(capsys):
    exit_status = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)

    said = capsys.readouterr().out
    assert exit_status == EXIT_STATUS_SUCCESS, said
    assert "0 broken" in said


# From the ground up; an app may name routes of its own floor and of those below it.
FLOORS = (
    ("core",),
    ("accounts",),
    ("qa", "clogging"),
    ("maintenance",),
    ("planning",),
    ("reporting",),
    ("fieldwork",),
    ("exchange",),
    ("api",),
    ("operations", "demo"),
    ("config",),
)
HEIGHT = {app: height for height, apps_here in enumerate(FLOORS) for app in apps_here}
ROUTE = re.compile(r"[\"\']({}):[a-z][a-z-]*[\"\']".format("|".join(HEIGHT)))


def sources_of_routes():
    """Every file that may name a route, with the app it belongs to; frame templates belong to no app."""
    for path in modules():
        yield path.relative_to(ROOT).parts[0], path
    for app in HEIGHT:
        for path in sorted((ROOT / "templates" / app).rglob("*.html")):
            yield app, path


def test_no_route_of_an_app_above_is_named():
    upwards = [
        f"{name_of(path)} names {named}"
        for app, path in sources_of_routes()
        for named in ROUTE.findall(path.read_text(encoding="utf-8"))
        if HEIGHT[named] > HEIGHT[app]
    ]

    assert upwards == []


APP_FOLDERS = {
    "models",
    "calc",
    "services",
    "selectors",
    "presentation",
    "forms",
    "views",
    "migrations",
    "locale",
    "templatetags",
    "management",
}
APP_MODULES = {"__init__.py", "apps.py", "urls.py", "tasks.py", "admin.py"}
EXCEPTIONS = {"core/errors.py"}


def test_an_app_holds_nothing_but_the_usual_rooms():
    strays = [
        name_of(path)
        for app in sorted(HEIGHT.keys() - {"config", "clogging"})
        for path in (ROOT / app).iterdir()
        if path.name != "__pycache__"
        and path.name not in (APP_FOLDERS if path.is_dir() else APP_MODULES)
        and name_of(path) not in EXCEPTIONS
    ]

    assert strays == []


# Where text or bytes from outside are read by a function that has no other way to refuse them.
VALUE_ERRORS_CAUGHT = {
    "api/calc/paging.py:read": "fromisoformat(), UUID() and base64 read what stands in an address",
    "core/calc/payload.py:from_json": "an upgrade meets whatever an older edition stored",
    "accounts/forms/passkeys.py:to_python": "json reads what anybody may send in place of a passkey",
    "accounts/views/secret_addresses.py:_network": "ip_address() reads what a proxy or a caller wrote",
    "planning/views/advice.py:chosen_advice": "UUID() and an enum read what stands in an address",
    "core/services/uploads.py:_photo": "the photo library's decoders meet broken files in many ways",
    "qa/calc/rain_record.py:_row": "fromisoformat() and float() read what stands in a file",
    "planning/calc/drive_file.py:_number": "float() reads what stands in a file that a firm sends",
    "operations/services/removal.py:_uuid": "UUID() reads what a person typed",
    "fieldwork/views/phone.py:_ids": "UUID() reads what a phone kept of surfaces",
    "fieldwork/calc/fields.py:_instant": "fromisoformat() reads what a phone kept of a form",
    "qa/forms/plans.py:_point": "float() reads what a person typed",
    "exchange/calc/shown_cells.py:shown_cells": "numbers that stand in a file that somebody sent",
    "exchange/services/archive_rows.py:as_id": "UUID() reads what stands in an archive",
    "exchange/services/archive_rows.py:_value": "numbers, dates and JSON are read from an archive",
    "reporting/views/documents.py:period_start": "date.fromisoformat() reads what a person typed",
}


def caught_in(function):
    """Names of the exceptions that a function catches."""
    for node in ast.walk(function):
        if isinstance(node, ast.ExceptHandler) and node.type is not None:
            yield from (part.id for part in ast.walk(node.type) if isinstance(part, ast.Name))


def test_a_programmers_mistake_is_not_caught():
    caught = {
        f"{name_of(path)}:{function.name}"
        for path in modules()
        for function in functions_of(path)
        if "ValueError" in caught_in(function)
    }

    assert caught == VALUE_ERRORS_CAUGHT.keys()


def test_no_import_hides_in_a_function_from_a_circle():
    """`AppConfig.ready` is Django's own place for them: before it, models cannot be imported."""
    hidden = [
        f"{name_of(path)}:{node.lineno} in {function.name}"
        for path in modules()
        for function in functions_of(path)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
        if not (path.name == "apps.py" and function.name == "ready")
    ]

    assert hidden == []


# Modules that load others only when these are wanted, and why.
LOADS_LATE = {
    "core/calc/compiling.py": "a compiler, which takes a second to load, where thousands of surfaces are worth it"
}


def test_no_import_waits_for_a_name_at_run_time():
    late = [
        name_of(path) for path in modules() if re.search(r"\b(import_module|__import__)\(", path.read_text())
    ]

    assert late == list(LOADS_LATE)


def test_views_reach_rows_only_through_the_person_who_asks():
    loose = [
        f"{name_of(path)}: {line.strip()}"
        for path in modules()
        if "views" in path.parts or path.name == "views.py"
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.search(r"\.objects\b(?!\.for_user\()", line)
    ]

    assert loose == []


def test_no_file_is_too_long_to_be_read():
    long = {
        name_of(path): n
        for path in modules()
        if (n := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_FILE
    }

    assert long == {}


def test_functions_are_short():
    lengths = sorted(lines_of(function) for path in modules() for function in functions_of(path))

    nine_in_ten = lengths[int(0.9 * len(lengths))]
    assert statistics.median(lengths) <= MEDIAN_FUNCTION
    assert nine_in_ten < USUAL_FUNCTION


def test_a_long_function_says_why():
    unexplained = [
        f"{name_of(path)}:{function.name} has {lines_of(function)} lines"
        for path in modules()
        for function in functions_of(path)
        if lines_of(function) > LONGEST_FUNCTION and not gives_a_reason(path, function)
    ]

    assert unexplained == []


def test_views_are_thin():
    thick = [
        f"{name_of(path)}:{function.name} has {lines_of(function)} lines"
        for path in modules()
        if "views" in path.parts or path.name == "views.py"
        for function in functions_of(path)
        if lines_of(function) > THICKEST_VIEW
    ]

    assert thick == []


def public_functions(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


@pytest.mark.parametrize("folder", ["calc", "clogging", "services"])
def test_whatever_others_may_call_says_what_it_does(folder):
    silent = [
        f"{name_of(path)}:{function.name}"
        for path in modules()
        if folder in path.parts
        for function in public_functions(path)
        if not ast.get_docstring(function)
    ]

    assert silent == []


def our_models():
    return [
        m
        for m in apps.get_models()
        if m._meta.app_label in PACKAGES and not m.__name__.startswith("Historical")
    ]


def test_every_model_says_what_a_row_is():
    silent = [m.__name__ for m in our_models() if not m.__doc__ or m.__doc__.startswith(f"{m.__name__}(")]

    assert silent == []


# Endings that name a unit, and words for numbers that have none.
UNITS = (
    "_mm_h",
    "_m2_h",
    "_mm",
    "_m",
    "_km",
    "_m2",
    "_m3",
    "_kg",
    "_g",
    "_c",
    "_deg",
    "_s",
    "_h",
    "_yr",
    "_pa",
    "_mpa",
    "_bar",
    "_mn_m2",
    "_l",
)
NO_UNIT = ("share", "porosity", "per_year", "percent", "_ratio", "_factor")
SAID_OTHERWISE = {
    # As read, in the unit system that stands beside it in `unit_system` or `unit`.
    "InfiltrationTest": {"prewet_mass", "test_mass", "ring_diameter", "own_value"},
    "CheckEntry": {"reading"},
    "ConstructionCheck": {"least", "most", "least_us", "most_us", "design"},
    "ConstructionRecord": {"subgrade_cbr"},  # the California bearing ratio, a percentage by definition
}


def test_a_measured_value_carries_its_unit_in_its_name():
    nameless = [
        f"{model.__name__}.{field.name}"
        for model in our_models()
        for field in model._meta.concrete_fields
        if isinstance(field, models.FloatField)
        and not field.name.endswith(UNITS)
        and not any(word in field.name for word in NO_UNIT)
        and field.name not in SAID_OTHERWISE.get(model.__name__, ())
        and not re.search(r"^(hours|minutes|days)_|_(hours|minutes|days)$", field.name)
    ]

    assert nameless == []


def test_every_rule_of_the_database_has_a_name_and_words_for_people():
    wordless = [
        constraint.name
        for model in our_models()
        for constraint in model._meta.constraints
        if constraint.violation_error_message == constraint.default_violation_error_message
    ]

    # Rules that no form can break: the program itself keeps them.
    internal = {
        "accounts_membership_role_known",
        "maintenance_terms_once_a_method",
        "qa_check_key_once_a_record",
        "maintenance_one_fit_a_night",
        "maintenance_one_open_advice_an_action",
        "maintenance_one_standing_release",
    }
    assert set(wordless) <= internal


def test_every_folder_of_tests_is_a_package():
    folders = {path.parent for path in (ROOT / "tests").rglob("test_*.py")}

    assert [name_of(folder) for folder in folders if not (folder / "__init__.py").exists()] == []


def template_lines():
    for path in TEMPLATES:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            yield f"{name_of(path)}:{number}", line


def tags_of(text):
    """Line, name and words of each block tag, as Django itself reads them."""
    for token in Lexer(text).tokenize():
        if token.token_type == TokenType.BLOCK:
            name, *words = token.split_contents()
            yield token.lineno, name, words


def test_no_line_of_a_template_is_wider_than_a_screen():
    assert [where for where, line in template_lines() if len(line) > WIDEST_TEMPLATE_LINE] == []


def test_a_template_shows_one_part_of_a_page():
    long = {
        name_of(path): n
        for path in TEMPLATES
        if (n := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_TEMPLATE
    }

    assert long == {}


NESTED = ("if", "for", "with")


def depths_of(text):
    """Line and depth of each tag that opens a level."""
    depth = 0
    for line, name, _ in tags_of(text):
        if name in NESTED:
            depth += 1
            yield line, depth
        elif name in [f"end{one}" for one in NESTED]:
            depth -= 1


def test_templates_are_not_nested_deeply():
    deep = [
        f"{name_of(path)}:{line} is {depth} deep"
        for path in TEMPLATES
        for line, depth in depths_of(path.read_text(encoding="utf-8"))
        if depth > DEEPEST_TEMPLATE
    ]

    assert deep == []


def test_the_depth_of_a_template_is_told():
    text = (
        "{% if a %}{% for b in a %}{% endfor %}{% with c=a %}\n{% if c %}{% endif %}{% endwith %}{% endif %}"
    )

    assert list(depths_of(text)) == [(1, 1), (1, 2), (1, 2), (2, 3)]


COMPARISONS = OPERATORS.keys() - {"and", "or", "not"}


def compared_in(text):
    """Line and words of each condition that compares: what it tells has a name, and the name belongs in Python."""
    for line, name, words in tags_of(text):
        if name in ("if", "elif") and COMPARISONS & set(words):
            yield line, " ".join(words)


def test_templates_ask_only_whether_something_is_so():
    rules = [
        f"{name_of(path)}:{line}: {condition}"
        for path in TEMPLATES
        for line, condition in compared_in(path.read_text(encoding="utf-8"))
    ]

    assert rules == []


@pytest.mark.parametrize("condition", ["a == 1", "a|length > 1", "a is None", "a is not None", "not a in b"])
def test_a_rule_in_a_template_is_found(condition):
    assert list(compared_in(f"{{% if {condition} %}}{{% endif %}}")) == [(1, condition)]
    assert list(compared_in("{% if a and not b or c|d:'==' %}{% endif %}")) == []


def test_a_notice_holds_its_words_as_one():
    """Its parts lie in a grid: bare words and the links between them would each get a place of their own."""
    bare = [where for where, line in template_lines() if '<p class="notice' in line]

    assert bare == []
