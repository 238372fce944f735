"""Runs independent pieces of array work on all cores; numpy lets go of the interpreter while it computes."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")


def on_all_cores(run: Callable[[Task], Result], tasks: Sequence[Task]) -> list[Result]:
    """[run(task) for task in tasks], in order; a single task or a single core is not worth a thread."""
    workers = min(os.cpu_count() or 1, len(tasks))
    if workers <= 1:
        return [run(task) for task in tasks]
    with ThreadPoolExecutor(max_workers=workers) as pool:
        return list(pool.map(run, tasks))
