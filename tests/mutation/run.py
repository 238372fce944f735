"""Puts small faults into formulas, drawn by a seed, and prints by file how many of them the tests noticed.

    python -m tests.mutation.run [pattern ...] [--each 60] [--seed 1] [--measure] [--also file ...] [--resume]

A pattern names files, such as qa/calc/*.py; without one everything that is measured is tried. --measure first runs
the tests once, to learn which of them run which line; it is needed after a change of tests or formulas. --also does
so for files of tests that were added or changed. --resume takes what was noticed before as settled, and tries the
rest: where a run was stopped, or where tests were added for what it left.

Nothing on the disk is changed but var/mutation: survivors.txt holds what is printed.
"""

import argparse
import importlib
import multiprocessing
import os
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from typing import Any

import pytest

from tests.mutation.operators import NO_FAULT, Mutant, mutants_of
from tests.mutation.reach import FOLDERS, KEPT, ROOT, Reach, group_of, is_measured, measure
from tests.mutation.trial import (
    ALIVE,
    KILLED,
    NOT_SWAPPED,
    STEADY,
    TIMED_OUT,
    NoDatabase,
    TellsModules,
    Trial,
    WarmLoop,
    notices_from_the_start,
    outcomes,
    paths_of,
    preload,
)

CALC = ("accounts", "core", "fieldwork", "maintenance", "planning", "qa", "reporting")
MODEL = (
    "cleaning", "decline", "filtering", "forecast", "layout", "mixture", "posterior_summary", "scores", "sources",
)  # fmt: skip
MEASURED = (*(f"{app}/calc/*.py" for app in CALC), *(f"clogging/{name}.py" for name in MODEL))
SLOWER = 3.0  # than when measured, before a trial is stopped
START_S = 20.0
PROGRESS = KEPT / "progress.txt"
OUTCOME_WIDTH = 12

Result = tuple[Trial, str]


def in_a_fork(function: Callable[..., Any], *arguments: Any) -> Any:
    """What a function gives in a process of its own, so that what it imports stays out of this one."""
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("fork")) as pool:
        return pool.submit(function, *arguments).result()


def listed(patterns: Iterable[str]) -> list[tuple[str, list[Mutant]]]:
    """Every fault of the files, by path."""
    found = []
    for file in paths_of(patterns):
        path = file.relative_to(ROOT).as_posix()
        module = path.removesuffix(".py").replace("/", ".")
        names = vars(importlib.import_module(module))
        found.append((path, mutants_of(file.read_text(encoding="utf-8"), module, path, names)))
    return found


def drawn(by_path: Iterable[tuple[str, list[Mutant]]], each: int, seed: int) -> list[Mutant]:
    """At most `each` faults of every file. A file draws by its own name, so that others do not move its draw."""
    chosen = []
    for path, mutants in by_path:
        picked = random.Random(f"{seed} {path}").sample(mutants, min(each, len(mutants)))
        chosen += sorted(picked, key=lambda mutant: (mutant.place, mutant.kind))
    return [mutant for mutant in chosen if not mutant.is_idle]


def planned(mutants: Iterable[Mutant], group: str) -> tuple[list[Trial], list[Trial]]:
    """Trials of the faults in bodies of functions, and of those in what runs at import."""
    reach = Reach(group)
    warm, cold = [], []
    for mutant in mutants:
        tests = tuple(reach.tests_of(mutant))
        trial = Trial(mutant, tests, START_S + SLOWER * reach.seconds_of(tests))
        (cold if reach.runs_at_import(mutant) else warm).append(trial)
    return warm, cold


def noted(trial: Trial, outcome: str) -> Result:
    """A result, also written at once, for whoever waits and for --resume."""
    with PROGRESS.open("a", encoding="utf-8") as file:
        file.write(f"{outcome:{OUTCOME_WIDTH}}{trial.mutant}\n")
    return trial, outcome


def noticed_before() -> set[str]:
    """The faults that an earlier run saw noticed; a fault is named by its place and text."""
    lines = PROGRESS.read_text(encoding="utf-8").splitlines() if PROGRESS.exists() else []
    return {line[OUTCOME_WIDTH:] for line in lines if line[:OUTCOME_WIDTH].strip() in (KILLED, TIMED_OUT)}


def control(trials: Sequence[Trial]) -> Trial:
    """The longest of some trials without its fault."""
    longest = max(trials, key=lambda trial: trial.longest_s)
    return replace(longest, mutant=replace(longest.mutant, kind=NO_FAULT), longest_s=3600.0)


def without_control(results: Sequence[Result]) -> list[Result]:
    """The results but the control's. Raises RuntimeError where that failed: every fault would seem noticed."""
    if any(trial.mutant.kind == NO_FAULT and outcome != ALIVE for trial, outcome in results):
        raise RuntimeError("The tests fail without a fault. Mend them, or run with --measure after a change.")
    return [(trial, outcome) for trial, outcome in results if trial.mutant.kind != NO_FAULT]


def try_warm(trials: list[Trial]) -> list[Result]:
    """Each trial with its outcome, in a process that has collected the tests of all of them."""
    if not trials:
        return []
    found: list[Result] = []
    files = sorted({test.partition("::")[0] for trial in trials for test in trial.tests})
    loop = WarmLoop([control(trials), *trials], lambda *result: found.append(noted(*result)))
    pytest.main([*STEADY, *files], plugins=[NoDatabase(), loop])
    return without_control(found)


def modules_of_others(group: str) -> list[str]:
    """Modules of other people's packages that the tests of a group load."""
    tells = TellsModules()
    pytest.main([*STEADY, "--collect-only", "-qq", *FOLDERS[group]], plugins=[tells])
    return tells.names


def try_cold(trials: list[Trial], group: str) -> list[Result]:
    """Each trial with its outcome, from a process that has imported other people's packages only."""
    if not trials:
        return []
    preload(in_a_fork(modules_of_others, group))
    found = outcomes([control(trials), *trials], notices_from_the_start)
    return without_control([noted(*result) for result in found])


def tried(mutants: Iterable[Mutant], group: str) -> list[Result]:
    """Each fault of a group with what became of it."""
    warm, cold = in_a_fork(planned, mutants, group)
    results = in_a_fork(try_warm, warm)
    cold += [trial for trial, outcome in results if outcome == NOT_SWAPPED]
    return [found for found in results if found[1] != NOT_SWAPPED] + in_a_fork(try_cold, cold, group)


def table(results: Iterable[Result], seed: int) -> Iterator[str]:
    """The figures by file, then every fault that was not noticed."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    alive = []
    for trial, outcome in results:
        counts[trial.mutant.path][outcome] += 1
        counts["all"][outcome] += 1
        if outcome == ALIVE:
            alive.append(trial.mutant)
    yield f"seed {seed:<35}{'tried':>7}{'killed':>8}{'slow':>6}{'alive':>7}"
    for path, count in sorted(counts.items(), key=lambda item: (item[0] == "all", item[0])):
        yield f"{path:40}{count.total():7}{count[KILLED]:8}{count[TIMED_OUT]:6}{count[ALIVE]:7}"
    yield f"{100.0 * counts['all'][ALIVE] / max(1, counts['all'].total()):.1f} % alive"
    yield from map(str, sorted(alive, key=lambda mutant: (mutant.path, mutant.place, mutant.kind)))


def asked_for(arguments: Sequence[str] | None = None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("patterns", nargs="*", default=MEASURED)
    parser.add_argument("--each", type=int, default=60, help="faults of a file")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--measure", action="store_true", help="run the tests once first")
    parser.add_argument(
        "--also", nargs="*", default=(), help="files of tests that are new: run these once first"
    )
    parser.add_argument("--resume", action="store_true", help="take as settled what was noticed before")
    return parser.parse_args(arguments)


def main() -> None:
    """Try what is asked for, print, write."""
    asked, started = asked_for(), time.monotonic()
    settled = noticed_before() if asked.resume else set()
    if not asked.resume:
        PROGRESS.unlink(missing_ok=True)
    mutants = drawn(in_a_fork(listed, asked.patterns), asked.each, asked.seed)
    results = [(Trial(mutant, (), 0.0), KILLED) for mutant in mutants if str(mutant) in settled]
    for group in FOLDERS:
        left = [mutant for mutant in mutants if group_of(mutant.path) == group and str(mutant) not in settled]
        also = [file for file in asked.also if any(file.startswith(folder) for folder in FOLDERS[group])]
        if not left:
            continue
        if asked.measure or not is_measured(group):
            measure(group)
        elif also:
            measure(group, also)
        results += tried(left, group)
    lines = [*table(results, asked.seed), f"{time.monotonic() - started:.0f} s"]
    print(*lines, sep="\n")
    (KEPT / "survivors.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # threads do not survive a fork
    sys.exit(main())
