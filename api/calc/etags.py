"""Marks of what was read, and whether a condition on them holds. Source: RFC 9110, sections 8.8.3 and 13.1."""

from hashlib import sha256
from re import compile as pattern

_ONE = pattern(r'(W/)?"([^"]*)"')


def etag_of(content: bytes) -> str:
    """The strong mark of an answer, in quotation marks."""
    return f'"{sha256(content).hexdigest()[:32]}"'


def names(header: str, etag: str, *, weakly: bool = False) -> bool:
    """Whether a field such as If-Match names the mark, or any by `*`.

    weakly: marks that say of themselves that they are weak count too, as If-None-Match compares them.
    """
    if header.strip() == "*":
        return True
    return any(f'"{text}"' == etag and (weakly or not weak) for weak, text in _ONE.findall(header))
