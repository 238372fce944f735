"""One page of a list: the rows after a place, in the order they were stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.db.models import Model, Q, QuerySet

from api.calc.paging import Cursor

M = TypeVar("M", bound=Model)


@dataclass(frozen=True, slots=True)
class Window:
    """What is asked of a list. after: the last row of the page before; narrowed: by the names of filters."""

    size: int
    after: Cursor | None
    narrowed: Mapping[str, UUID | date | str]


@dataclass(frozen=True, slots=True)
class Page(Generic[M]):
    """Rows, and where the next page begins; None at the end."""

    rows: Sequence[M]
    after: Cursor | None


def page_of(rows: QuerySet[M], window: Window, paths: Mapping[str, str]) -> Page[M]:
    """The rows of a window. paths: which column each filter asks that the rows are not narrowed by already.

    One row more than asked is read, to know whether there are more: nothing is counted.
    """
    asked = {paths[name]: value for name, value in window.narrowed.items() if name in paths}
    rows = rows.filter(**asked)
    if window.after is not None:
        rows = rows.filter(_after(window.after))
    found: list[Any] = list(rows.order_by("created_at", "pk")[: window.size + 1])
    shown = found[: window.size]
    return Page(shown, Cursor(shown[-1].created_at, shown[-1].pk) if len(found) > window.size else None)


def _after(cursor: Cursor) -> Q:
    """Later rows. The first condition follows from the others; by it a database finds where to begin, not by an OR."""
    later = Q(created_at__gt=cursor.stored_at) | Q(created_at=cursor.stored_at, pk__gt=cursor.key)
    return Q(created_at__gte=cursor.stored_at) & later
