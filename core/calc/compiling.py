"""Modules that bring a compiler, loaded when they are worth it.

The compiler takes about a second to load, and what it makes of a module some ten seconds more on a machine that has not
kept it. It is kept in the folder that NUMBA_CACHE_DIR names (the settings put it with the data), under a name that goes
with the sources, so that a new edition never runs what an old one left.
"""

import os
from collections.abc import Iterable
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import Any


def load_compiled(modules: Iterable[str], made_from: Iterable[Path]) -> tuple[Any, ...]:
    """The modules, their compiled functions kept by what the sources hold. made_from: all that goes into them."""
    numba = import_module("numba")
    if "NUMBA_CACHE_DIR" in os.environ:
        numba.config.CACHE_DIR = str(Path(os.environ["NUMBA_CACHE_DIR"]) / _edition(made_from))
    return tuple(import_module(module) for module in modules)


def _edition(made_from: Iterable[Path]) -> str:
    """A name for what the compiler makes of these sources."""
    return sha256(b"".join(path.read_bytes() for path in made_from)).hexdigest()[:16]
