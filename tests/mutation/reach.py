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
# Whatever needs a database is left out: it takes most of the time, and formulas are to be held without one.
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
    "clogging": (  # fits and studies of calibration are left out: they take long and judge the whole, not a line
        "tests/clogging/test_api.py",
        "tests/clogging/test_decline.py",
        "tests/clogging/test_filtering.py",
        "tests/clogging/test_forecast.py",
        "tests/clogging/test_layout.py",
        "tests/clogging/test_outlooks.py",
        "tests/clogging/test_mixture_properties.py",
        "tests/clogging/test_posterior_summary.py",
        "tests/clogging/test_score_properties.py",
        "tests/clogging/test_scores.py",
        "tests/clogging/test_sources.py",
        "tests/external/test_model_statespace.py",
    ),
}
LONGEST_S = (
    30.0  # of tests for one fault, the quickest first; a fault that only slower ones notice is not noticed
)
FARTHEST = 3  # imports between a table and a test that may notice a fault in it


def group_of(path: str) -> str:
    """Which of the groups of tests tries the faults of a file."""
    return "clogging" if path.startswith("clogging/") else "calc"


def is_measured(group: str) -> bool:
    return (KEPT / group / "times0.xml").exists()


def measure(group: str, also: Iterable[str] = ()) -> None:
    """Run the tests of a group once with coverage of each, or add some files of tests to what was measured. Minutes."""
    kept, asked = KEPT / group, list(also)
    if not asked:
        shutil.rmtree(kept, ignore_errors=True)
        kept.mkdir(parents=True)
    measured = ["--cov", "--cov-append", "--cov-context=test", "--cov-report="]
    steady = ["-q", "-p", "no:cacheprovider", "-p", "no:randomly", "--hypothesis-seed=0"]
    times = f"--junitxml={kept}/times{len(list(kept.glob('times*.xml')))}.xml"
    _pytest([*steady, *measured, times, *(asked or FOLDERS[group])], COVERAGE_FILE=str(kept / "coverage"))


def _pytest(arguments: list[str], **environment: str) -> None:
    given = os.environ | {"PYTHONHASHSEED": "0"} | environment
    subprocess.run([sys.executable, "-m", "pytest", *arguments], cwd=ROOT, env=given, check=True)


class Reach:
    """The tests of a group that reach a fault. Raises FileNotFoundError where it was not measured yet."""

    def __init__(self, group: str) -> None:
        self.data = CoverageData(str(KEPT / group / "coverage"))
        self.data.read()
        self.seconds = _seconds_by_test(KEPT / group)
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
        """Tests of files that import the module, then of files whose imports lead to it; those that run it first."""
        near = reaching | {
            context.rpartition("|")[0] for at in self._by_line(mutant.path).values() for context in at
        }
        far = self.imports.distances(mutant.module)
        tests = [
            (far.get(name, FARTHEST + 1), test not in near, self.seconds[test], test)
            for name, tests in self.by_file.items()
            for test in tests
            if name in far or test in near
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


def _seconds_by_test(folder: Path) -> dict[str, float]:
    files = sorted(folder.glob("times*.xml"), key=lambda path: path.stat().st_mtime)
    cases = [case for path in files for case in ET.parse(path).iter("testcase")]
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

    def leading_to(self, package: str) -> set[str]:
        """Every file whose imports lead to a package in the end."""
        found: set[str] = set()
        ring = {module for module in self.importers if module.partition(".")[0] == package}
        while ring:
            files = {name for module in ring for name in self.importers[module]} - found
            found |= files
            ring = {_module_of(name) for name in files}
        return found

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
