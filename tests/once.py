"""Pure functions done once for the same input by the tests, which ask for the same thing a thousand times.

Where the tests run in several processes, these share a folder, and what one of them has done none does again.
"""

import hashlib
import os
import pickle
import threading
from functools import wraps
from pathlib import Path
from types import ModuleType

# What forecasts ask of the comparison of programmes, as maintenance.selectors.care knows it; most of their time.
COMPARISONS = ("frontier_table", "compare", "coming_year")


def remembered(function, folder=None):
    """The same function, which gives a copy of what it gave for equal arguments; also to those who share the folder."""
    given = {}
    name = f"{function.__module__}.{function.__qualname__}"

    @wraps(function)
    def asked(*args, **kwargs):
        key = hashlib.blake2b(pickle.dumps((name, args, kwargs))).hexdigest()
        if key not in given:
            given[key] = _shared(folder, key, lambda: pickle.dumps(function(*args, **kwargs)))
        return pickle.loads(given[key])

    return asked


def _shared(folder, key, make):
    """What is made, or what another process has made of the same before."""
    if folder is None:
        return make()
    kept = folder / key
    if not kept.exists():
        own = folder / f"{key}.{os.getpid()}.{threading.get_ident()}"
        own.write_bytes(make())
        own.replace(kept)  # whole at once: nobody reads half of it
    return kept.read_bytes()


class Remembering:
    """A module as those see it who are handed this instead: some of its functions remember what they gave."""

    def __init__(self, module: ModuleType, *names: str, folder=None):
        self._module = module
        for name in names:
            setattr(self, name, remembered(getattr(module, name), folder))

    def __getattr__(self, name):
        return getattr(self._module, name)


def printed_once(typeset, folder_of_all=None):
    """The compiler of papers, which gives the same PDF again for the same source beside the same files."""
    given = {}

    @wraps(typeset)
    def asked(source, *, folder, inputs=None):
        files = [(path.name, path.read_bytes()) for path in sorted(Path(folder).iterdir())]
        key = hashlib.blake2b(pickle.dumps((source, files, inputs))).hexdigest()
        if key not in given:
            given[key] = _shared(folder_of_all, key, lambda: typeset(source, folder=folder, inputs=inputs))
        return given[key]

    return asked
