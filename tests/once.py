"""Pure functions done once for the same input in a process of tests, which asks for the same thing a thousand times."""

import hashlib
import pickle
from functools import wraps
from pathlib import Path
from types import ModuleType


def remembered(function):
    """The same function, which gives a copy of what it gave for equal arguments."""
    given = {}

    @wraps(function)
    def asked(*args, **kwargs):
        key = hashlib.blake2b(pickle.dumps((args, kwargs))).digest()
        if key not in given:
            given[key] = pickle.dumps(function(*args, **kwargs))
        return pickle.loads(given[key])

    return asked


class Remembering:
    """A module as those see it who are handed this instead: some of its functions remember what they gave."""

    def __init__(self, module: ModuleType, *names: str):
        self._module = module
        for name in names:
            setattr(self, name, remembered(getattr(module, name)))

    def __getattr__(self, name):
        return getattr(self._module, name)


def printed_once(typeset):
    """The compiler of papers, which gives the same PDF again for the same source beside the same files."""
    given = {}

    @wraps(typeset)
    def asked(source, *, folder, inputs=None):
        files = [(path.name, path.read_bytes()) for path in sorted(Path(folder).iterdir())]
        key = hashlib.blake2b(pickle.dumps((source, files, inputs))).digest()
        if key not in given:
            given[key] = typeset(source, folder=folder, inputs=inputs)
        return given[key]

    return asked
