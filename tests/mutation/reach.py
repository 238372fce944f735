"""Which tests run which line, and how long each takes: measured once by coverage.py, asked for every fault."""

import ast
import os
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property
from pathlib import Path

from coverage import CoverageData

from tests.mutation.operators import Mutant

ROOT = Path(__file__).resolve().parent.parent.parent
KEPT = ROOT / "var" / "mutation"
# Tests without a database but for a few. Those of pages and services notice more, and take an hour.
FOLDERS = {
    "calc": (
        "tests/accounts/calc",
        "tests/core/calc",
        "tests/external",
        "tests/maintenance/calc",
        "tests/planning/calc",
        "tests/qa/calc",
        "tests/qa/presentation",
        "tests/reporting/calc",
        "tests/reporting/presentation",
    ),
    "clogging": ("tests/clogging", "tests/external"),
}
EMPTY_DATABASE = KEPT / "test.sqlite3"
ANY_WITH_ROWS = "tests/accounts/test_tenancy.py"  # makes the empty database that every trial copies
LONGEST_S = 20.0  # of tests for one fault, the quickest first; a fault that only slower ones notice is not noticed
FARTHEST = 3  # imports between a table and a test that may notice a fault in it


def group_of(path: str) -> str:
    """Which of the groups of tests tries the faults of a file."""
    return "clogging" if path.startswith("clogging/") else "calc"


def is_measured(group: str) -> bool:
    return (KEPT / group / "times.xml").exists()


def measure(group: str) -> None:
    """Run the tests of a group once with coverage of each, and make the empty database that trials copy. Minutes."""
    kept = KEPT / group
    shutil.rmtree(kept, ignore_errors=True)
    kept.mkdir(parents=True)
    measured = ["--cov", "--cov-context=test", "--cov-report=", f"--junitxml={kept}/times.xml"]
    steady = ["-q", "-p", "no:cacheprovider", "-p", "no:randomly", "--hypothesis-seed=0"]
    _pytest([*steady, *measured, *FOLDERS[group]], COVERAGE_FILE=str(kept / "coverage"))
    _pytest(["-q", "--create-db", "--reuse-db", ANY_WITH_ROWS], TEST_RUN_FOLDER=str(KEPT))


def _pytest(arguments: list[str], **environment: str) -> None:
    given = os.environ | {"PYTHONHASHSEED": "0"} | environment
    subprocess.run([sys.executable, "-m", "pytest", *arguments], cwd=ROOT, env=given, check=True)


class Reach:
    """The tests of a group that reach a fault. Raises FileNotFoundError where it was not measured yet."""

    def __init__(self, group: str) -> None:
        self.data = CoverageData(str(KEPT / group / "coverage"))
        self.data.read()
        self.seconds = _seconds_by_test(KEPT / group / "times.xml")
        self.by_file: dict[str, list[str]] = defaultdict(list)
        for test in self.seconds:
            self.by_file[test.partition("::")[0]].append(test)

    def runs_at_import(self, mutant: Mutant) -> bool:
        """Whether the statement runs when its module is imported, so that a change must be there from the start."""
        return not mutant.function or "" in self._contexts(mutant)

    def tests_of(self, mutant: Mutant) -> list[str]:
        """Names of the tests to run for a fault, the quickest first."""
        tests = {context.rpartition("|")[0] for context in self._contexts(mutant) if context}
        if self.runs_at_import(mutant):
            tests = self._by_distance(mutant, tests)
        else:
            tests = sorted(tests, key=lambda test: self.seconds.get(test, 0.0))
        return self._within_time(tests)

    def seconds_of(self, tests: Iterable[str]) -> float:
        return sum(self.seconds.get(test, 0.0) for test in tests)

    def _contexts(self, mutant: Mutant) -> set[str]:
        lines = self._by_line(mutant.path)
        return {context for line in range(mutant.first, mutant.last + 1) for context in lines.get(line, ())}

    def _by_line(self, path: str) -> dict[int, list[str]]:
        if path not in self._lines:
            self._lines[path] = self.data.contexts_by_lineno(str(ROOT / path))
        return self._lines[path]

    @cached_property
    def _lines(self) -> dict[str, dict[int, list[str]]]:
        return {}

    def _by_distance(self, mutant: Mutant, reaching: set[str]) -> list[str]:
        """Tests that run anything of the module, then those whose imports lead to it, the nearest first."""
        near = {context.rpartition("|")[0] for at in self._by_line(mutant.path).values() for context in at}
        far = self.imports.distances(mutant.module)
        files = {name: far.get(name, FARTHEST + 1) for name in self.by_file}
        tests = [
            (test not in near and test not in reaching, distance, self.seconds[test], test)
            for name, distance in files.items()
            for test in self.by_file[name]
            if distance <= FARTHEST or test in near
        ]
        return [test for *_, test in sorted(tests)]

    @cached_property
    def imports(self) -> "Imports":
        return Imports()

    def _within_time(self, tests: Iterable[str]) -> list[str]:
        chosen, seconds = [], 0.0
        for test in tests:
            seconds += self.seconds.get(test, 0.0)
            if seconds > LONGEST_S:
                break
            if test in self.seconds:
                chosen.append(test)
        return chosen


def _seconds_by_test(path: Path) -> dict[str, float]:
    cases = ET.parse(path).iter("testcase")
    return {
        f"{case.get('classname').replace('.', '/')}.py::{case.get('name')}": float(case.get("time"))
        for case in cases
        if case.find("skipped") is None
    }


class Imports:
    """Who imports whom, read from the sources of the program and its tests."""

    def __init__(self) -> None:
        self.importers: dict[str, set[str]] = defaultdict(set)
        for path in ROOT.glob("*/**/*.py"):
            name = path.relative_to(ROOT).as_posix()
            if not name.startswith((".", "var/")):
                for module in _imported(ast.parse(path.read_text(encoding="utf-8")), name):
                    self.importers[module].add(name)

    def distances(self, module: str) -> dict[str, int]:
        """Imports between a module and each file that leads to it."""
        found: dict[str, int] = {}
        ring, steps = {module}, 1
        while ring and steps <= FARTHEST:
            files = {name for module in ring for name in self.importers[module]} - found.keys()
            found |= dict.fromkeys(files, steps)
            ring, steps = {_module_of(name) for name in files}, steps + 1
        return found


def _module_of(name: str) -> str:
    return name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _imported(tree: ast.AST, name: str) -> Iterable[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = name.split("/")[: -node.level] if node.level else []
            start = ".".join([*above, node.module] if node.module else above)
            yield start
            yield from (f"{start}.{alias.name}" for alias in node.names)
