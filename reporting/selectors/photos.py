"""Photos named in a document: which of them may still be shown, and their small pictures."""

import logging
from collections.abc import Iterator, Mapping
from typing import Any

from qa.models import Attachment

log = logging.getLogger(__name__)


def mark_set_aside(words: dict[str, Any]) -> dict[str, Any]:
    """A document's words, with every file that was set aside since it was kept marked as not active.

    Files are never erased, but one may have been set aside because it should not have been shown.
    """
    keys = set(_keys(words))
    if not keys:
        return words
    active = Attachment.objects.active().filter(pk__in=keys).values_list("pk", flat=True)
    marked: dict[str, Any] = _marked(words, {str(key) for key in active})
    return marked


def thumbnails(words: Mapping[str, Any]) -> dict[str, bytes]:
    """Small pictures of the photos named in a document's words, by key; one missing on the disk is left out."""
    found = {}
    for row in Attachment.objects.active().filter(pk__in=set(_keys(words))).exclude(thumbnail=""):
        try:
            with row.thumbnail.open("rb") as held:
                found[str(row.pk)] = held.read()
        except FileNotFoundError:
            log.warning("The picture of file %s is missing on the disk; the PDF is made without it.", row.pk)
    return found


def _keys(data: Any) -> Iterator[str]:
    if _is_file(data):
        yield data["key"]
    elif isinstance(data, Mapping):
        for value in data.values():
            yield from _keys(value)
    elif isinstance(data, list):
        for value in data:
            yield from _keys(value)


def _marked(data: Any, active: set[str]) -> Any:
    if _is_file(data):
        return data | {"is_active": data["is_active"] and data["key"] in active}
    if isinstance(data, Mapping):
        return {name: _marked(value, active) for name, value in data.items()}
    if isinstance(data, list):
        return [_marked(value, active) for value in data]
    return data


def _is_file(data: Any) -> bool:
    return isinstance(data, Mapping) and "is_photo" in data
