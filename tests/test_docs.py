"""What the documents say exists, and what exists is said."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

from config.environment import KNOWN
from demo.calc.place import OWNER_PERSON, PASSWORD, PEOPLE
from exchange.calc import columns, reading
from exchange.calc.csvw import NAME
from exchange.calc.kinds import KINDS as KINDS_OF_SHEET
from exchange.calc.tables import NOTHING
from exchange.models import DataExport
from exchange.services.archive import GEOJSON, MANIFEST, README, SHEETS
from exchange.services.files import MOST_FILES
from tests.test_architecture import PACKAGES

ROOT = Path(__file__).resolve().parent.parent
GUIDES = tuple(f"docs/{path.name}" for path in sorted((ROOT / "docs").glob("*.md")))
DOCUMENTS = ("README.md", "DEVELOPERS.md", *GUIDES)
FOLDERS = (*PACKAGES, "benchmarks", "docs", "static", "templates", "tests")
KINDS = "css|html|js|lock|md|mjs|py|toml|txt|typ"
EXAMPLE = ".env.example"
READ_ELSEWHERE = {"DATABASE_URL", "REDIS_URL"}


def text_of(name):
    return (ROOT / name).read_text(encoding="utf-8")


def code_in(name):
    """Everything in a document that is set as code: between backticks, or indented by four."""
    text = text_of(name)
    return "\n".join([*re.findall(r"`([^`\n]+)`", text), *re.findall(r"(?m)^ {4,}(\S.*)$", text)])


@pytest.mark.parametrize("setting", sorted(KNOWN.keys() | READ_ELSEWHERE))
def test_every_setting_is_listed_in_the_example(setting):
    assert re.search(rf"(?m)^#? ?{setting}=", text_of(EXAMPLE))


@pytest.mark.parametrize("name", [*DOCUMENTS, EXAMPLE])
def test_no_document_names_a_setting_that_nobody_reads(name):
    named = set(re.findall(r"\bRAINTHROUGH_[A-Z_]+\b", text_of(name)))

    assert named <= KNOWN.keys()


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_make_command_in_a_document_exists(name):
    targets = set(re.findall(r"(?m)^([a-z][a-z-]*):", text_of("Makefile")))

    asked = set(re.findall(r"\bmake ([a-z][a-z-]*)", code_in(name)))

    assert asked
    assert asked <= targets


@pytest.mark.parametrize("name", [*DOCUMENTS, "Makefile"])
def test_every_management_command_in_a_document_exists(name):
    asked = set(re.findall(r"manage\.py ([a-z_]+)", text_of(name)))

    assert asked <= get_commands().keys()


@pytest.mark.parametrize("name", [*DOCUMENTS, "CHANGELOG.md"])
def test_every_link_to_a_file_leads_somewhere(name):
    links = re.findall(r"\]\((?!https?:|#|mailto:)([^)#]+)", text_of(name))

    assert [link for link in links if not (ROOT / name).parent.joinpath(link).exists()] == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_folder_and_file_in_a_document_exists(name):
    """Names with a slash, set as code, whose first part is a folder of the project."""
    named = re.findall(rf"`((?:{'|'.join(FOLDERS)})/[\w./*-]*)`", text_of(name))

    assert [path for path in named if not list(ROOT.glob(path.rstrip("/")))] == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_in_a_document_that_is_named_without_its_folder_exists(name, sources):
    named = set(re.findall(rf"`([\w-]+\.(?:{KINDS}))`", text_of(name)))

    assert named <= {path.name for path in sources}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_name_in_a_document_that_is_set_as_code_stands_in_the_code(name, words):
    named = re.findall(r"`(?:[A-Za-z]\w*\.)*([A-Za-z_]\w+)(?:\(.*?\))?`", text_of(name))

    assert set(named) - words == set()


@pytest.fixture(scope="module")
def sources():
    """Every file that we wrote."""
    within = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*")]
    return [path for path in [*ROOT.iterdir(), *within] if re.search(rf"\.({KINDS})$", path.name)]


@pytest.fixture(scope="module")
def words(sources):
    """Every word of the code, and the names of its files and folders."""
    code = " ".join(path.read_text() for path in sources if path.suffix not in {".md", ".lock"})
    return set(re.findall(r"\w+", code)) | {part for path in sources for part in path.relative_to(ROOT).parts}


def test_the_guides_are_linked_where_a_newcomer_looks_first():
    assert set(re.findall(r"\]\((docs/[^)#]+)", text_of("README.md"))) == set(GUIDES)


def test_the_people_of_the_demonstration_are_those_of_the_document():
    text = text_of("README.md")
    listed = set(re.findall(r"(?m)^\| (\S+@\S+) \|", text))

    assert listed == {email for email, *_ in PEOPLE} | {OWNER_PERSON[0]}
    assert f"`{PASSWORD}`" in text


def test_the_guide_to_moving_data_says_what_the_code_does():
    text = text_of("docs/moving-data.md")
    rows = dict(re.findall(r"(?m)^\| ([A-Z][a-z -]+[a-z]) \| .* \| (\w+) \|$", text))

    assert rows == {what.kind.label: what.least_role.label.lower() for what in KINDS_OF_SHEET.values()}
    assert f"at most {MOST_FILES} of {reading.MOST_BYTES // 1024**2} MB" in text
    assert f"{reading.MOST_ROWS:,} rows and {columns.MOST_COLUMNS} columns" in text
    assert f"unpacks to more than {reading.MOST_UNPACKED // 1024**2} MB" in text
    assert DataExport.KEPT.days == 7
    assert all(f"`{name}`" in text for name in (NAME, SHEETS, GEOJSON, MANIFEST))
    assert README in text
    assert NOTHING in text
