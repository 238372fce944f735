"""Where a column may be empty, SQLite puts the empty ones first and PostgreSQL last: whoever sorts by it says which."""

import ast
from pathlib import Path

from django.apps import apps

ROOT = Path(__file__).resolve().parent.parent
OURS = (
    "accounts",
    "api",
    "core",
    "demo",
    "exchange",
    "fieldwork",
    "maintenance",
    "operations",
    "planning",
    "qa",
    "reporting",
)

# Names of columns that are empty in rows of some model, but never in those that are sorted there, and why.
NEVER_EMPTY = {
    "demo/services/quoting.py cost": "advice with a price alone",
    "fieldwork/selectors/phones.py dealt_with_at": "those dealt with since a day alone",
    "maintenance/models/forecasts.py finished_at": "jobs that have ended alone",
    "maintenance/selectors/calibration_report.py decline_percentile": "those beyond a percentile alone",
    "maintenance/selectors/fits.py finished_at": "none is unfinished there",
    "maintenance/services/fits.py finished_at": "jobs that have ended alone",
    "maintenance/services/forecasts.py finished_at": "jobs that have ended alone",
    "maintenance/services/recommendations.py decided_at": "declined advice alone, which says when",
    "planning/selectors/cost_months.py decided_at": "approved versions alone, which say when",
    "planning/selectors/outputs.py ended_at": "tasks that are done alone, which say when",
    "planning/selectors/todo.py ended_at": "tasks that have ended alone",
    "planning/selectors/work_orders.py ended_at": "tasks that have ended alone",
    "reporting/selectors/inspecting.py until": "of snapshots, which all have one",
}


def may_be_empty():
    models = [model for model in apps.get_models() if model._meta.app_label in OURS]
    return {f.name for model in models for f in model._meta.fields if f.null and not f.is_relation}


def sorted_by(tree):
    """Names of columns by which something is sorted without a word on what is empty."""
    for node in ast.walk(tree):
        given = []
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") in (
            "order_by",
            "latest",
            "earliest",
        ):
            given = node.args
        elif isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "ordering":
            given = getattr(node.value, "elts", [])
        for each in given:
            if isinstance(each, ast.Constant) and isinstance(each.value, str):
                yield each.value.lstrip("-").split("__")[-1]


def found():
    empty = may_be_empty()
    for app in OURS:
        for path in sorted((ROOT / app).rglob("*.py")):
            if "migrations" not in path.parts:
                names = set(sorted_by(ast.parse(path.read_text(encoding="utf-8"))))
                yield from (f"{path.relative_to(ROOT)} {name}" for name in names & empty)


def test_who_sorts_by_a_column_that_may_be_empty_says_where_the_empty_ones_go():
    assert sorted(set(found())) == sorted(NEVER_EMPTY)


def test_a_plain_name_is_seen_and_one_that_says_where_is_not():
    plain = "rows.order_by('-visit__ended_at', 'pk')"
    says = "rows.order_by(F('ended_at').asc(nulls_first=True), 'pk')"

    assert list(sorted_by(ast.parse(plain))) == ["ended_at", "pk"]
    assert list(sorted_by(ast.parse(says))) == ["pk"]
