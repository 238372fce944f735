"""What a file holds, as a sum that a changed byte changes."""

from hashlib import sha256
from typing import IO

PIECE = 1024 * 1024  # bytes read at once


def digest_of(file: IO[bytes], copy: IO[bytes] | None = None) -> tuple[str, int]:
    """SHA-256 in hexadecimal and size in bytes of a file from where it stands, written to `copy` on the way."""
    digest, size = sha256(), 0
    while piece := file.read(PIECE):
        digest.update(piece)
        size += len(piece)
        if copy is not None:
            copy.write(piece)
    return digest.hexdigest(), size
