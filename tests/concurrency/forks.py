"""Processes of the program that a story starts and kills, forked from one that has loaded it.

Each is a process of its own, with connections of its own, as one that has loaded the program by itself. That takes
seconds of a processor, and the stories start dozens.
"""

import multiprocessing
import os
import sys

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["tests.concurrency.loaded"])


def started(run, *args):
    """A process that runs a function of a module with arguments that can be pickled; to be killed and waited for."""
    process = FORKS.Process(target=run, args=args)
    process.start()
    return process


def say_into(path, *streams):
    """Let what this process and those that it starts say, by the numbers of streams, go to the end of a file."""
    sys.stdout.flush()
    sys.stderr.flush()
    said = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    for stream in streams:
        os.dup2(said, stream)
    os.close(said)
