"""The lists of pyproject.toml name every app, and what is built from it holds every file an app needs."""

import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

from tests.test_architecture import PACKAGES

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
TOOLS = PROJECT["tool"]
BESIDE_THE_APPS = ("static", "templates")  # folders without code, found from the settings


def files_of(folder):
    return (path for path in (ROOT / folder).rglob("*") if path.is_file() and "__pycache__" not in path.parts)


@pytest.mark.parametrize(
    ("tool", "listed"),
    [
        ("coverage", TOOLS["coverage"]["run"]["source"]),
        ("import-linter", TOOLS["importlinter"]["root_packages"]),
        ("mypy", [folder for folder in TOOLS["mypy"]["files"] if folder != "benchmarks"]),
    ],
)
def test_a_tool_looks_at_every_app(tool, listed):
    assert sorted(listed) == sorted(PACKAGES)


@pytest.mark.parametrize("folder", [*PACKAGES, *BESIDE_THE_APPS])
def test_every_folder_is_built_in(folder):
    patterns = TOOLS["setuptools"]["packages"]["find"]["include"]

    assert any(fnmatch(folder, pattern) for pattern in patterns)


@pytest.mark.parametrize("folder", [*PACKAGES, *BESIDE_THE_APPS])
def test_every_file_of_a_folder_is_built_in(folder):
    patterns = ["*.py", *TOOLS["setuptools"]["package-data"]["*"]]

    left_out = [
        path.relative_to(ROOT)
        for path in files_of(folder)
        if not any(fnmatch(path.name, pattern) for pattern in patterns)
    ]

    assert left_out == []
