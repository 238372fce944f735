"""Another database in the place of the default one."""

from contextlib import contextmanager

from django.db import connections


@contextmanager
def as_default(given):
    """The default connection leads to the database of those settings, in this thread and in new ones."""
    before = connections.settings["default"], connections["default"]
    connections.settings["default"] = given
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"], connections["default"] = before
