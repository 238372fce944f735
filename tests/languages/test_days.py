"""Days as people write them, in the reader's language: ISO 8601 is for machines, and for fields to type in."""

import ast
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings

from tests.languages.pseudo import texts_seen
from tests.permissions import TABLE

ISO_DAY = re.compile(r"\b(19|20)\d\d-[01]\d-[0-3]\d\b")
PAGES = [route for route, (method, *_) in TABLE.items() if method == "get"]
# Where a day stands in ISO 8601 on purpose, and why.
ON_PURPOSE = {
    "reporting:search-show": "A day such as",  # what may be typed
    "qa:rain-add": "Times as",  # how a file is to write them
    "exchange:import-list": "Year first only",  # how a file may write them
}
OURS = [
    model
    for model in apps.get_models()
    if model.__module__.split(".")[1:2] == ["models"] and not hasattr(model, "history_object")
]


@pytest.fixture
def firm(furnished):
    return furnished


def days_for_machines(page, route):
    """What a page shows with a day in ISO 8601; `tests/test_permissions.py` asks it of every page that it opens."""
    meant = ON_PURPOSE.get(route)
    found = [text for text in texts_seen(page) if ISO_DAY.search(text)]
    return [text for text in found if not (meant and meant in text)]


def test_a_day_as_machines_write_it_is_found_and_one_that_is_meant_is_not():
    page = "<p>Done on 2026-06-10</p><p>Times as 2026-06-10 09:30</p>"

    assert days_for_machines(page, "qa:rain-add") == ["Done on 2026-06-10"]
    assert days_for_machines(page, "maintenance:surface-list") == [
        "Done on 2026-06-10",
        "Times as 2026-06-10 09:30",
    ]


def test_reasons_stand_only_for_pages_there_are():
    assert set(ON_PURPOSE) <= set(PAGES)


def test_no_row_is_called_by_a_day_as_machines_write_it(firm):
    named = {str(row) for model in OURS for row in model._base_manager.all()}

    assert len(named) > 50
    assert [name for name in named if ISO_DAY.search(name)] == []


@pytest.mark.parametrize("app", sorted({model._meta.app_label for model in OURS}))
def test_no_model_puts_a_day_into_its_name_but_by_the_one_way(app):
    """Also models that the firm of the tests has no row of."""
    for path in sorted((Path(settings.BASE_DIR) / app / "models").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef) and node.name == "__str__":
                assert not re.search(r"isoformat|strftime|:%|:date", ast.unparse(node)), path
