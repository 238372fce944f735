"""Puts small faults into formulas, drawn by a seed, and prints by module how many the tests noticed.

    python -m tests.mutation.run [pattern ...] [--each 60] [--seed 1] [--measure] [--also file ...] [--resume]

A pattern names files, such as qa/calc/*.py; without one everything that is measured is tried. --measure first runs
the tests once, to learn which of them run which line; it is needed after a change of tests or formulas. --also does
so for files of tests that were added or changed. --resume takes what was noticed before as settled, and tries the
rest: where a run was stopped, or where tests were added for what it left.
Nothing on the disk is changed. What was not noticed is printed, and written to var/mutation/survivors.txt.
"""

import argparse
import importlib
import multiprocessing
import os
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from typing import Any

from tests.mutation.reach import KEPT, group_of, is_measured, measure

MEASURED = (
    "accounts/calc/*.py",
    "core/calc/*.py",
    "maintenance/calc/*.py",
    "planning/calc/*.py",
    "qa/calc/*.py",
    "reporting/calc/*.py",
    *(
        f"clogging/{name}.py"
        for name in (
            "filtering", "decline", "mixture", "forecast", "scores", "layout", "posterior_summary", "cleaning",
            "sources",
        )  # fmt: skip
    ),
)
SLOWER = 3.0  # than alone, before a trial is stopped
START_S = 20.0
PROGRESS = KEPT / "progress.txt"
OUTCOME_WIDTH = 12


def in_a_fork(function: Callable[..., Any], *arguments: Any) -> Any:
    """What a function gives in a process of its own, so that what it imports stays out of this one."""
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("fork")) as pool:
        return pool.submit(function, *arguments).result()


def listed(patterns: Iterable[str]) -> tuple[list, dict[str, dict]]:
    """Every fault of the files."""
    from tests.mutation.operators import mutants_of
    from tests.mutation.reach import ROOT
    from tests.mutation.trial import paths_of

    found = []
    for file in paths_of(patterns):
        path = file.relative_to(ROOT).as_posix()
        module = path.removesuffix(".py").replace("/", ".")
        names = vars(importlib.import_module(module))
        found.append((path, mutants_of(file.read_text(encoding="utf-8"), module, path, names)))
    return found


def drawn(by_path: Iterable[tuple[str, list]], each: int, seed: int) -> list:
    """At most `each` faults of every file. A file draws by its own name, so that others do not move its draw."""
    chosen = []
    for path, mutants in by_path:
        picked = random.Random(f"{seed} {path}").sample(mutants, min(each, len(mutants)))
        chosen += sorted(picked, key=lambda mutant: (mutant.place, mutant.kind))
    return [mutant for mutant in chosen if not mutant.is_idle]


def planned(mutants: list, group: str) -> tuple[list, list]:
    """Trials of the faults in bodies of functions, and of those in what runs at import."""
    from tests.mutation.reach import Reach
    from tests.mutation.trial import Trial

    reach = Reach(group)
    warm, cold = [], []
    for mutant in mutants:
        tests = tuple(reach.tests_of(mutant))
        trial = Trial(mutant, tests, START_S + SLOWER * reach.seconds_of(tests))
        (cold if reach.runs_at_import(mutant) else warm).append(trial)
    return warm, cold


def noted(trial: Any, outcome: str) -> tuple:
    """A result, also written at once, for whoever waits."""
    with PROGRESS.open("a", encoding="utf-8") as file:
        file.write(f"{outcome:{OUTCOME_WIDTH}}{trial.mutant}\n")
    return trial, outcome


def try_warm(trials: list) -> list:
    """Each trial with its outcome, in a process that has collected the tests of all of them."""
    import pytest

    from tests.mutation.trial import STEADY, NoDatabase, WarmLoop

    if not trials:
        return []
    found: list = []
    files = sorted({test.partition("::")[0] for trial in trials for test in trial.tests})
    loop = WarmLoop([*control(trials), *trials], lambda *result: found.append(noted(*result)))
    pytest.main([*STEADY, *files], plugins=[NoDatabase(), loop])
    return without_control(found)


def modules_of_others(group: str) -> list[str]:
    import pytest

    from tests.mutation.reach import FOLDERS
    from tests.mutation.trial import STEADY, TellsModules

    tells = TellsModules()
    pytest.main([*STEADY, "--collect-only", "-qq", *FOLDERS[group]], plugins=[tells])
    return tells.names


def try_cold(trials: list, group: str) -> list:
    """Each trial with its outcome, from a process that has imported other people's packages only."""
    from tests.mutation.trial import notices_from_the_start, outcomes, preload

    if not trials:
        return []
    preload(in_a_fork(modules_of_others, group))
    found = outcomes([*control(trials), *trials], notices_from_the_start)
    return without_control([noted(*result) for result in found])


def report(results: Iterable[tuple], seed: int) -> list[str]:
    """The table by module, then every fault that was not noticed."""
    from tests.mutation.trial import ALIVE, KILLED, TIMED_OUT

    counts: dict[str, Counter] = defaultdict(Counter)
    alive = []
    for trial, outcome in results:
        counts[trial.mutant.path][outcome] += 1
        if outcome == ALIVE:
            alive.append(trial.mutant)
    lines = [f"seed {seed}", f"{'':40}{'tried':>7}{'killed':>8}{'slow':>6}{'alive':>7}"]
    whole: Counter = Counter()
    for path, count in sorted(counts.items()):
        whole += count
        lines.append(_line(path, count, KILLED, TIMED_OUT, ALIVE))
    lines.append(_line("all", whole, KILLED, TIMED_OUT, ALIVE))
    lines.append(f"{100.0 * whole[ALIVE] / max(1, whole.total()):.1f} % alive")
    return [*lines, *map(str, sorted(alive, key=lambda mutant: (mutant.path, mutant.place, mutant.kind)))]


def _line(name: str, count: Counter, *outcomes: str) -> str:
    killed, slow, alive = (count[outcome] for outcome in outcomes)
    return f"{name:40}{count.total():7}{killed:8}{slow:6}{alive:7}"


def control(trials: list) -> list:
    """The longest of some trials without its fault."""
    from tests.mutation.operators import NO_FAULT

    longest = max(trials, key=lambda trial: trial.longest_s)
    return [replace(longest, mutant=replace(longest.mutant, kind=NO_FAULT), longest_s=3600.0)]


def noticed_before() -> set[str]:
    """The faults that an earlier run saw noticed; a fault is named by its place and text."""
    lines = PROGRESS.read_text(encoding="utf-8").splitlines() if PROGRESS.exists() else []
    return {line[OUTCOME_WIDTH:] for line in lines if line[:OUTCOME_WIDTH].strip() in ("killed", "timed out")}


def without_control(results: list) -> list:
    """The results but the control's. Raises RuntimeError where that failed: every fault would seem noticed."""
    from tests.mutation.operators import NO_FAULT
    from tests.mutation.trial import ALIVE

    if any(trial.mutant.kind == NO_FAULT and outcome != ALIVE for trial, outcome in results):
        raise RuntimeError("The tests fail without a fault. Mend them, or run with --measure after a change of theirs.")
    return [(trial, outcome) for trial, outcome in results if trial.mutant.kind != NO_FAULT]


def tried(mutants: list, group: str) -> list:
    """Each fault of a group with what became of it."""
    from tests.mutation.trial import NOT_SWAPPED

    warm, cold = in_a_fork(planned, mutants, group)
    results = in_a_fork(try_warm, warm)
    cold += [trial for trial, outcome in results if outcome == NOT_SWAPPED]
    return [found for found in results if found[1] != NOT_SWAPPED] + in_a_fork(try_cold, cold, group)


def main() -> None:
    """Read the command line, try, print, write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("patterns", nargs="*", default=MEASURED)
    parser.add_argument("--each", type=int, default=60, help="faults of a file")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--measure", action="store_true", help="run the tests once first")
    parser.add_argument("--also", nargs="*", default=(), help="files of tests that are new: run these once first")
    parser.add_argument("--resume", action="store_true", help="take as settled what was noticed before")
    asked = parser.parse_args()
    from tests.mutation.trial import KILLED, Trial

    started = time.monotonic()
    settled = noticed_before() if asked.resume else set()
    if not asked.resume:
        PROGRESS.unlink(missing_ok=True)
    results = []
    by_group = defaultdict(list)
    for mutant in drawn(in_a_fork(listed, asked.patterns), asked.each, asked.seed):
        if str(mutant) in settled:
            results.append((Trial(mutant, (), 0.0), KILLED))
        else:
            by_group[group_of(mutant.path)].append(mutant)
    for group, mutants in by_group.items():
        if asked.measure or not is_measured(group):
            measure(group)
        elif asked.also:
            measure(group, asked.also)
        results += tried(mutants, group)
    lines = report(results, asked.seed)
    print(*lines, f"{time.monotonic() - started:.0f} s", sep="\n")
    (KEPT / "survivors.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # threads do not survive a fork
    sys.exit(main())
