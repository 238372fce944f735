"""Pure functions done once for the same input in a process of tests, which asks for the same thing a thousand times."""

import hashlib
import pickle
from functools import wraps


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
