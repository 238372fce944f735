"""Runs the tests on a PostgreSQL of their own: `python -m tests.on_postgresql [--drawn] [--seed N] [-- pytest's own]`.

The server is started in a folder for temporary files, and ended with the run. `--drawn` takes a choice instead of all
tests: what always has to run there, and of each folder that asks a database for something one module, drawn by the
seed, so that all come round. Tests of `concurrency` bring a PostgreSQL of their own, whatever the others run on.
"""

import argparse
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.concurrency.servers import postgres

TESTS = Path(__file__).resolve().parent
# The floors of an app whose tests put questions to a database; the others compute, word or draw what these found.
FLOORS = ("forms", "models", "selectors", "services", "views")
# What asks for sums, order or locks in the database's own words, waits for its refusals, or takes rows by their keys.
ALWAYS = (
    "core/services/test_batches.py",
    "core/services/test_jobs.py",
    "operations/services/test_removal.py",
    "operations/services/test_removal_holds.py",
    "operations/views/test_metrics.py",
    "planning/selectors/test_due_work.py",
    "planning/selectors/test_quotes.py",
    "reporting/selectors/test_coming.py",
    "reporting/selectors/test_searching.py",
    "test_locks.py",
)


def folders():
    """The modules of each floor of each app, and those of security, by their folder below that of the tests."""
    found = {}
    for path in sorted(TESTS.rglob("test_*.py")):
        folder = path.parent.relative_to(TESTS)
        if folder.name in FLOORS or folder.name == "security":
            found.setdefault(str(folder), []).append(str(path.relative_to(TESTS)))
    return found


def drawn(seed):
    """What always runs, and one module of each folder."""
    chance = random.Random(seed)
    return sorted({*ALWAYS, *(chance.choice(modules) for modules in folders().values())})


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--drawn", action="store_true", help="a choice instead of all")
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--workers", default="2")
    parser.add_argument("rest", nargs="*", help="further arguments for pytest")
    given = parser.parse_args()
    chosen = [str(TESTS / name) for name in drawn(given.seed)] if given.drawn else []
    seeds = [f"--randomly-seed={given.seed}", f"--hypothesis-seed={given.seed}"]
    if given.drawn:
        sys.stdout.write(
            "\n  ".join([f"On PostgreSQL, drawn by SEED={given.seed}:", *drawn(given.seed)]) + "\n"
        )
        sys.stdout.flush()
    command = [sys.executable, "-m", "pytest", "-n", given.workers, "--dist", "worksteal", *seeds]
    try:
        with postgres() as url:
            environment = os.environ | {"TEST_DATABASE_URL": url}
            return subprocess.run([*command, *given.rest, *chosen], env=environment, check=False).returncode
    except (pytest.skip.Exception, pytest.fail.Exception) as missing:
        return str(missing)


if __name__ == "__main__":
    sys.exit(main())
