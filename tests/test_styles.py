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
    *(f"report__verdict--{state}" for state in SurfaceState.values),
    *(f"record--{kind}" for kind in RecordKind.values),
    *(f"found__one--{state}" for state in FindingState.values),
    *(f"message--{level}" for level in ("info", "success", "warning", "error")),
}


def classes_of(sheet):
    text = re.sub(r"/\*.*?\*/|url\([^)]*\)", "", sheet.read_text(encoding="utf-8"), flags=re.DOTALL)
    return set(re.findall(r"\.([a-z][\w-]*)", text))


CLASS_ATTRIBUTE = re.compile(r'class="((?:\{%.*?%\}|[^"])*)"', re.DOTALL)
HANDED_ON = re.compile(r'(?:mark="|block sheet_class %\})([\w-]+)')
CLASSES = re.compile(r"[a-z][\w-]*( [a-z][\w-]*)*")
LITERAL = re.compile(r"""(["'`])(.*?)\1""")
CODE = ("static/js", "accounts", "core", "fieldwork", "maintenance", "planning", "qa", "reporting")


def shown_by_templates():
    """What stands in class attributes, and what is handed on to one: conditions within count as words."""
    for path in (ROOT / "templates").rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        yield from CLASS_ATTRIBUTE.findall(text)
        yield from HANDED_ON.findall(text)


def written_by_code():
    """In browser modules and in code that writes markup: class attributes, and text that may be a list of classes."""
    for folder in CODE:
        for path in (ROOT / folder).rglob("*.*"):
            if path.suffix in (".js", ".py"):
                text = path.read_text(encoding="utf-8")
                yield from CLASS_ATTRIBUTE.findall(text)
                yield from (said for _, said in LITERAL.findall(text) if CLASSES.fullmatch(said))


@pytest.fixture(scope="module")
def classes_on_pages():
    return set(re.findall(r"[\w-]+", "\n".join([*shown_by_templates(), *written_by_code()])))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_class_of_a_style_sheet_is_on_a_page(sheet, classes_on_pages):
    assert classes_of(sheet) - COMPOSED - classes_on_pages == set()


def test_every_colour_and_size_that_is_named_is_used():
    places = [*SHEETS, *(ROOT / "static" / "icons").glob("*.svg")]
    used = set(re.findall(r"var\((--[\w-]+)", "\n".join(path.read_text(encoding="utf-8") for path in places)))
    modules = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "static" / "js").rglob("*.js"))
    named = set(
        re.findall(
            r"(?m)^\s*(--[\w-]+):", (ROOT / "static" / "css" / "tokens.css").read_text(encoding="utf-8")
        )
    )

    assert {name for name in named - used if name not in modules and not name.startswith("--chart-")} == set()


def names_given_in(sheet):
    return re.findall(r"(?m)^\s*(--[\w-]+):", sheet.read_text(encoding="utf-8"))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_colour_is_written_once_for_day_and_night(sheet):
    """By light-dark(); `color-scheme` alone says which of the two holds."""
    text = sheet.read_text(encoding="utf-8")
    names = names_given_in(sheet)

    assert "prefers-color-scheme" not in text
    assert sorted(set(names)) == sorted(names)
