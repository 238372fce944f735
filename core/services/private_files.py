"""Keeps the embedded database for the user who runs the server."""

from contextlib import suppress
from pathlib import Path
from typing import Any

OWNER_ALONE = 0o600


def keep_private(sender: object, connection: Any, **_: Any) -> None:
    """On the first connection of a process: SQLite gives the files beside the database the rights of the database."""
    name = str(connection.settings_dict["NAME"])
    if connection.vendor != "sqlite" or not name or name.startswith((":memory:", "file:")):
        return
    with suppress(FileNotFoundError, PermissionError):  # of another user, who decides who reads it
        path = Path(name)
        if path.stat().st_mode & 0o777 != OWNER_ALONE:
            path.chmod(OWNER_ALONE)
