"""Files on the disk of the server: whole, or not at all; and how a full disk is told."""

import errno
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.core.files.storage import FileSystemStorage
from django.utils.translation import gettext_noop
from whitenoise.storage import CompressedManifestStaticFilesStorage

_FULL = (errno.ENOSPC, errno.EDQUOT)
# What the databases say: SQLite SQLITE_FULL, PostgreSQL error class 53100 (disk_full).
_FULL_WORDS = ("database or disk is full", "no space left on device")
NO_ROOM = gettext_noop(
    "The disk of the server is full, so what you sent could not be stored. Keep it, tell whoever runs this server to "
    "make room, and send it again."
)


class WholeFileStorage(FileSystemStorage):
    """Django's, but a file that could not be written to its end is taken away again."""

    def _save(self, name: str, content: Any) -> str:
        path = Path(self.path(name))
        was_there = path.exists()
        try:
            return str(super()._save(name, content))  # type: ignore[misc]  # of the mixin that the stubs leave out
        except OSError:
            if not was_there:
                with suppress(OSError):
                    path.unlink(missing_ok=True)
            raise


class NamedByContents(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # untyped
    """Django's, but scripts name by their contents what they import, too, so that a browser asks for none of it again.

    Django's own way of it wants a semicolon after each import, and takes every script for ours.
    """

    max_post_process_passes = 20  # as many as a chain of imports is long
    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        (
            "js/*.js",
            (
                (r"""(?P<matched>from "(?P<url>\.{1,2}/[^"]+)")""", """from "%(url)s\""""),
                (r"""(?P<matched>import\("(?P<url>\.{1,2}/[^"]+)"\))""", """import("%(url)s")"""),
            ),
        ),
    )


def is_full(error: BaseException | None) -> bool:
    """Whether an error says, itself or by what it came from, that a disk is full."""
    return any(_says_full(one) for one in _with_causes(error))


def _says_full(error: BaseException) -> bool:
    if isinstance(error, OSError):
        return error.errno in _FULL
    return any(words in str(error).lower() for words in _FULL_WORDS)


def _with_causes(error: BaseException | None) -> Iterator[BaseException]:
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or error.__context__
