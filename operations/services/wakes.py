"""How a web process tells the worker beside it that there is work: a pipe that both have from whoever started them.

The rows are the queue, so what goes through it says nothing but "look". A pipe outlives the processes at its ends: what
was written while the worker was dead is read by the next one, and where it is full a look is due in any case.
"""

import os
import select
from contextlib import suppress
from typing import NamedTuple

MOST_BYTES = 65_536  # as many as a pipe holds, so that many wakes are one


class Ends(NamedTuple):
    """File descriptors of a pipe, neither of which makes anybody wait."""

    woken: int
    wakes: int


def open_pipe() -> Ends:
    """A pipe for programs that are started with its descriptors passed on to them."""
    ends = Ends(*os.pipe())
    for end in ends:
        os.set_blocking(end, False)
    return ends


def wake(wakes: int) -> None:
    """Have whoever waits at the other end look at once. Safe from many threads and processes at the same time."""
    with suppress(BlockingIOError):  # full of wakes that nobody has heeded yet
        os.write(wakes, b".")


def wait_for_wake(woken: int | None, longest_s: float) -> bool:
    """Wait until somebody wakes this process, or so long; says whether somebody did. woken: None without a pipe."""
    ready, _, _ = select.select([] if woken is None else [woken], [], [], longest_s)
    if not ready or woken is None:
        return False
    with suppress(BlockingIOError):
        os.read(woken, MOST_BYTES)
    return True
