"""Tries faults one by one, each in a forked child, so that nothing on the disk changes and Python starts once.

A fault in the body of a function is put into the function itself, in a process that has imported and collected
everything. A fault in what runs at import is put in by an import hook, in a process that has imported other
people's packages only.
"""

import contextlib
import gc
import os
import resource
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from itertools import pairwise
from pathlib import Path
from types import CodeType, FunctionType
from typing import NoReturn

import pytest

from tests.mutation.operators import Mutant, code_of
from tests.mutation.reach import ROOT, Imports

KILLED, ALIVE, TIMED_OUT, NOT_SWAPPED = "killed", "alive", "timed out", "not swapped"
NOT_SWAPPED_STATUS = 77  # the function was nowhere to be found: to be tried from the start
AT_ONCE = 2
MOST_BYTES = 6 * 2**30
STEADY = (
    "-q",
    "-s",
    "-x",
    "-p",
    "no:cacheprovider",
    "-p",
    "no:randomly",
    "-p",
    "no:xdist",
    "--hypothesis-seed=0",
)
LIGHT = ("-o", "addopts=", "-p", "no:django", "--noconftest")
DATABASE = {"db", "transactional_db", "django_db_setup"}
FIRST = (8, 60)
CACHED = type(lru_cache(int))  # what a function with a cache is


@dataclass(frozen=True)
class Trial:
    """A fault, the tests that may notice it, and the seconds after which it counts as noticed."""

    mutant: Mutant
    tests: tuple[str, ...]
    longest_s: float


def outcomes(
    trials: Iterable[Trial], notices: Callable[[Trial], bool], at_once: int = AT_ONCE
) -> Iterator[tuple[Trial, str]]:
    """Each trial with what became of it, in the order they end. notices: run in a child of its own."""
    running: dict[int, Trial] = {}
    for trial in trials:
        if len(running) >= at_once:
            yield _next_end(running)
        pid = os.fork()
        if pid == 0:
            _child(trial, notices)
        running[pid] = trial
    while running:
        yield _next_end(running)


def _next_end(running: dict[int, Trial]) -> tuple[Trial, str]:
    pid, status = os.wait()
    while pid not in running:
        pid, status = os.wait()
    if os.WIFSIGNALED(status):
        return running.pop(pid), TIMED_OUT if os.WTERMSIG(status) == signal.SIGALRM else KILLED
    return running.pop(pid), {0: ALIVE, NOT_SWAPPED_STATUS: NOT_SWAPPED}.get(os.WEXITSTATUS(status), KILLED)


def _child(trial: Trial, notices: Callable[[Trial], bool]) -> NoReturn:
    status = 1
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, trial.longest_s)
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        status = int(notices(trial))
    finally:
        os._exit(status)


class NoDatabase:
    """A pytest plugin: leaves out the tests with a database, which would take most of the time."""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if not DATABASE.intersection(getattr(item, "fixturenames", ()))]


class WarmLoop:
    """A pytest plugin: collects once, then tries each fault on the collected tests instead of running them."""

    def __init__(self, trials: list[Trial], report: Callable[[Trial, str], None]):
        self.trials, self.report = trials, report

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        functions, caches = _functions_and_caches()
        gc.freeze()

        def notices(trial: Trial) -> bool:
            for kept in caches:
                kept.cache_clear()
            _swap(trial.mutant, functions)
            return _fails(session, [items[name] for name in trial.tests if name in items])

        for trial, outcome in outcomes(self.trials, notices):
            self.report(trial, outcome)
        return True


def _functions_and_caches():
    """Every function of ours by file, name and first line, and every cache of a function."""
    functions: dict[tuple, list[FunctionType]] = {}
    caches = []
    gc.unfreeze()  # what somebody froze is not among the objects
    for thing in gc.get_objects():
        kind = type(thing)  # `isinstance` would wake what is lazy, and ask a database
        if kind is FunctionType:
            functions.setdefault(_place_of(thing.__code__), []).append(thing)
        elif kind is CACHED:
            caches.append(thing)
    return functions, caches


def _place_of(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def _swap(mutant: Mutant, functions: dict[tuple, list[FunctionType]]) -> None:
    path = ROOT / mutant.path
    module = code_of(path.read_text(encoding="utf-8"), mutant, str(path))
    codes = [code for code in _codes_in(module) if code.co_qualname == mutant.function]
    found = [(function, code) for code in codes for function in functions.get(_place_of(code), ())]
    if not found:
        os._exit(NOT_SWAPPED_STATUS)
    for function, code in found:
        function.__code__ = code


def _codes_in(code: CodeType) -> Iterator[CodeType]:
    for const in code.co_consts:
        if isinstance(const, CodeType):
            yield const
            yield from _codes_in(const)


def _fails(session: pytest.Session, items: list[pytest.Item]) -> bool:
    for item, following in zip(items, [*items[1:], None], strict=True):
        session.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if session.testsfailed:
            return True
    return False


class _FaultyLoader(SourceFileLoader):
    """Gives a module the code that a mutant has made of it."""

    code: CodeType

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class _Finder:
    def __init__(self, mutant: Mutant, code: CodeType):
        self.mutant, self.code = mutant, code

    def find_spec(self, name: str, path=None, target=None) -> ModuleSpec | None:
        if name != self.mutant.module:
            return None
        file = str(ROOT / self.mutant.path)
        loader = _FaultyLoader(name, file)
        loader.code = self.code
        return spec_from_file_location(name, file, loader=loader)


def notices_from_the_start(trial: Trial) -> bool:
    """Whether the tests fail in a process that imports the faulty module; those that need no Django first."""
    file = ROOT / trial.mutant.path
    code = code_of(file.read_text(encoding="utf-8"), trial.mutant, str(file))
    sys.meta_path.insert(0, _Finder(trial.mutant, code))
    heavy = {test for test in trial.tests if test.partition("::")[0] in _files_with_django()}
    light = [test for test in trial.tests if test not in heavy]
    return _fails_light(light) or (bool(heavy) and _main(*(test for test in trial.tests if test in heavy)))


def _fails_light(tests: list[str]) -> bool:
    """A few tests at first, since those most often notice: to collect the others takes longer than to run them."""
    ends = [0, *(end for end in FIRST if end < len(tests)), len(tests)]
    return any(
        _main(*LIGHT, *tests[start:end], plugins=[_Light()]) for start, end in pairwise(ends) if end > start
    )


def _main(*arguments: str, plugins: Iterable[object] = ()) -> bool:
    end = pytest.main([*STEADY, *arguments], plugins=[NoDatabase(), *plugins])
    return end not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


class _Light:
    """A pytest plugin in place of tests/conftest.py, which needs Django."""

    def pytest_configure(self) -> None:
        import hypothesis

        luck = [hypothesis.HealthCheck.too_slow, hypothesis.HealthCheck.filter_too_much]
        hypothesis.settings.register_profile(
            "light", deadline=None, suppress_health_check=luck, database=None
        )
        hypothesis.settings.load_profile("light")


@cache
def _files_with_django() -> frozenset[str]:
    return frozenset(Imports().leading_to("django") - {"tests/conftest.py"})


def preload(names: Iterable[str]) -> None:
    """Import other people's packages ahead; those that need Django's apps to be ready wait for it."""
    for name in names:
        with contextlib.suppress(BaseException):
            __import__(name)
    _files_with_django()


class TellsModules:
    """A pytest plugin: which modules of other people are loaded once the tests are collected."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def pytest_collection_finish(self) -> None:
        own = {path.name for path in ROOT.iterdir()}
        self.names = [
            name
            for name, module in sys.modules.items()
            if name.partition(".")[0] not in own and "site-packages" in str(getattr(module, "__file__", ""))
        ]


def paths_of(patterns: Iterable[str]) -> list[Path]:
    return sorted(path for pattern in patterns for path in ROOT.glob(pattern) if path.name != "__init__.py")
