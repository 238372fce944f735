"""Which criteria of a document rest on documents that the firm has not checked, counted and listed."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Any

from core.calc.translation import gettext as _
from core.calc.translation import ngettext
from qa.calc.citing import MARK


@dataclass(frozen=True, slots=True)
class Unverified:
    """A document that was not checked, and how many criteria rest on it."""

    document: str
    criteria: int

    @property
    def words(self) -> str:
        """The line of the list at the end of a document."""
        return _("{document}: {criteria}").format(
            document=_(self.document), criteria=_criteria(self.criteria)
        )


def unverified_in(snapshot: Any) -> tuple[Unverified, ...]:
    """The documents that parts of a snapshot name as not verified, by name, with how many parts name each."""
    found = Counter(_named(snapshot))
    return tuple(Unverified(document, found[document]) for document in sorted(found))


def unverified_line(found: tuple[Unverified, ...]) -> str:
    """How many criteria that are, in a sentence; empty where it is none."""
    criteria = sum(one.criteria for one in found)
    if not criteria:
        return ""
    return ngettext(
        "{count} criterion in this document rests on a document not checked against the current edition by the firm "
        "({mark}).",
        "{count} criteria in this document rest on documents not checked against the current edition by the firm "
        "({mark}).",
        criteria,
    ).format(count=criteria, mark=MARK)


def _criteria(count: int) -> str:
    return ngettext("{count} criterion", "{count} criteria", count).format(count=count)


def _named(snapshot: Any) -> Iterator[str]:
    left = [snapshot]
    while left:
        part = left.pop()
        kind = part.__class__
        if kind is tuple:
            left += part
        elif names := _fields_of(kind):
            if document := getattr(part, "unverified", ""):
                yield document
            left += [getattr(part, name) for name in names]


@cache
def _fields_of(kind: type[Any]) -> tuple[str, ...]:
    """The fields of a part; none of what is no part."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else ()
