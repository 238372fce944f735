"""What was changed about a round after it was recorded: who, when, why, and the values from before."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import Any

from django.utils.translation import gettext as _

from accounts.models import User
from core.calc.format import day
from core.calc.marks import marked
from qa.models import TestRound

FIELDS = (
    "tested_on",
    "purpose",
    "hours_since_rain",
    "standing_water",
    "air_temperature_c",
    "surface_temperature_c",
    "note",
)


@dataclass(frozen=True, slots=True)
class Change:
    """One value before and after, as a person reads it."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Amendment:
    """One correction of a round."""

    at: datetime
    by: User | None
    reason: str
    changes: list[Change]


def amendments_of(round_: TestRound, *, with_notes: bool) -> list[Amendment]:
    """Corrections of a round, newest first. with_notes: whether the firm's own notes may be read."""
    names = FIELDS if with_notes else [name for name in FIELDS if name != "note"]
    rows = round_.history.select_related("history_user").order_by("-history_date", "-history_id")
    return [
        Amendment(newer.history_date, newer.history_user, newer.history_change_reason or "", changes)
        for newer, older in pairwise(rows)
        if (changes := list(_changes(older, newer, names)))
    ]


def _changes(older: Any, newer: Any, names: Iterable[str]) -> Iterator[Change]:
    for name in names:
        before, after = getattr(older, name), getattr(newer, name)
        if before != after:
            label = str(TestRound._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
            yield Change(label, _said(older, name, before), _said(newer, name, after))


def _said(row: Any, name: str, value: Any) -> str:
    if value is None or value == "":
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, date):
        return day(value)
    if name == "purpose":
        return str(row.get_purpose_display())
    return marked(f"{value:g}") if isinstance(value, float) else str(value)
