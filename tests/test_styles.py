"""Style sheets hold what pages use, and nothing else."""

import re
from pathlib import Path

import pytest

from maintenance.calc.vocabulary import RecordKind, SurfaceState
from qa.calc.inspections import FindingState

ROOT = Path(__file__).resolve().parent.parent
SHEETS = sorted((ROOT / "static" / "css").glob("*.css"))
# Put together when the page is made: a part that stays, and what may follow.
COMPOSED = {
    *(f"state--{state}" for state in SurfaceState.values),
    *(f"record--{kind}" for kind in RecordKind.values),
    *(f"found__one--{state}" for state in FindingState.values),
    *(f"message--{level}" for level in ("info", "success", "warning", "error")),
}


def classes_of(sheet):
    text = re.sub(r"/\*.*?\*/|url\([^)]*\)", "", sheet.read_text(encoding="utf-8"), flags=re.DOTALL)
    return set(re.findall(r"\.([a-z][\w-]*)", text))


@pytest.fixture(scope="module")
def words_of_pages():
    """Every word in templates, browser modules and code that writes markup, the catalogue of components left out."""
    folders = ("templates", "static/js", "qa", "maintenance", "accounts")
    files = [
        path
        for folder in folders
        for path in (ROOT / folder).rglob("*.*")
        if path.suffix in (".html", ".js", ".py") and path.name != "catalogue.html"
    ]
    return set(re.findall(r"[\w-]+", "\n".join(path.read_text(encoding="utf-8") for path in files)))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_class_of_a_style_sheet_is_on_a_page(sheet, words_of_pages):
    assert classes_of(sheet) - COMPOSED - words_of_pages == set()


def test_every_class_of_the_catalogue_has_a_style():
    shown = set(
        re.findall(r'class="([^"{}]+)"', (ROOT / "templates" / "catalogue.html").read_text(encoding="utf-8"))
    )
    styled = set().union(*map(classes_of, SHEETS))

    assert {name for names in shown for name in names.split()} - styled == set()
