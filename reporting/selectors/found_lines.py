"""What was found, line by line."""

from collections.abc import Callable, Iterable
from typing import Any

from django.utils.translation import gettext as _

from accounts.models import Owner
from core.calc.format import day
from planning.models import Visit
from qa.models import Site, Surface
from reporting.calc.searching import FoundLine, Kind

SITES_NAMED = 3  # of a visit; more would hide the next find


def found_line(kind: Kind, row: Any) -> FoundLine:
    """A row as a line; what its kind reads of others must be joined."""
    title, about, tag = _WORDS[kind](row)
    return FoundLine(kind, title, about, row.get_absolute_url(), tag)


def found_lines(kind: Kind, rows: Iterable[Any]) -> list[FoundLine]:
    """Rows of one kind as lines."""
    return [found_line(kind, row) for row in rows]


def _owner(row: Owner) -> tuple[str, str, str]:
    return row.name, row.address, ""


def _site(row: Site) -> tuple[str, str, str]:
    return row.name, ", ".join(filter(None, (row.address, row.owner.name))), ""


def _surface(row: Surface) -> tuple[str, str, str]:
    where = (row.site.name, row.site.address, row.site.owner.name)
    return row.name, ", ".join(filter(None, where)), _("removed") if row.removed_on else ""


def _visit(row: Visit) -> tuple[str, str, str]:
    names = list(dict.fromkeys(task.surface.site.name for task in row.tasks.all()))
    more = [_("{count} more").format(count=len(names) - SITES_NAMED)] if len(names) > SITES_NAMED else []
    where = ", ".join(names[:SITES_NAMED] + more)
    return (
        f"{row.crew}, {day(row.visit_on)}",
        where,
        "" if row.is_scheduled else row.get_status_display().lower(),
    )


_WORDS: dict[Kind, Callable[[Any], tuple[str, str, str]]] = {
    Kind.OWNER: _owner,
    Kind.SITE: _site,
    Kind.SURFACE: _surface,
    Kind.VISIT: _visit,
}
