"""Secrets of links, and what is stored of them."""

import hashlib
import secrets

BYTES = 32


def new_secret() -> str:
    """32 bytes from the system's source, in letters that a URL may hold."""
    return secrets.token_urlsafe(BYTES)


def hash_of(secret: str) -> str:
    """What is stored of a secret: SHA-256, in hexadecimal.

    No salt and no slow hash: 256 random bits cannot be guessed from a list, as a password can.
    """
    return hashlib.sha256(secret.encode()).hexdigest()
