"""Who changed what, and when: the changes of a firm as one list, read by as many queries however many there are."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db.models import CharField, F, IntegerField, OuterRef, QuerySet, Subquery, UUIDField, Value
from django.db.models.functions import Cast

from accounts.models import Organisation
from operations.calc.trail_kinds import TRAIL_BY_KEY, TRAIL_KINDS, TrailKind
from operations.selectors.jobs import together


@dataclass(frozen=True, slots=True)
class TrailRow:
    """One change. how: of a version "+" for a new row, "~" for a changed one, "-" for one that was removed.

    version: the id of the version that it stored; None where no versions are kept.
    """

    kind_key: str
    at: datetime
    person: int | None
    how: str
    about: str
    link: UUID | None
    reason: str
    version: int | None

    @property
    def kind(self) -> TrailKind:
        """What is known of its kind."""
        return TRAIL_BY_KEY[self.kind_key]


@dataclass(frozen=True, slots=True)
class AskedTrail:
    """What the list is narrowed to. kind: a key, empty for all; days in the zone of the firm, both included."""

    kind: str = ""
    person: int | None = None
    since: date | None = None
    until: date | None = None


class TrailList:
    """The changes of a firm, counted and read a slice at a time, as a paginator wants them; the newest first."""

    def __init__(self, organisation: Organisation, asked: AskedTrail, zone: ZoneInfo) -> None:
        self.asked = asked
        kinds = [kind for kind in TRAIL_KINDS if asked.kind in ("", kind.key)]
        if asked.person is not None:
            kinds = [kind for kind in kinds if kind.by]
        self._several = [_columns(_rows(kind, organisation, asked, zone), kind) for kind in kinds]

    def __len__(self) -> int:
        """How many changes are asked for."""
        return together(self._several).count() if self._several else 0

    def __getitem__(self, part: slice) -> list[TrailRow]:
        """Some of them."""
        if not self._several:
            return []
        listed = together(self._several).order_by("-trail_at", "trail_kind", "trail_version")[part]
        return [TrailRow(*row) for row in listed]

    def in_pieces(self, size: int) -> Iterator[list[TrailRow]]:
        """All of them, some at a time, for a file that is not held as a whole."""
        at = 0
        while piece := self[at : at + size]:
            yield piece
            at += size


def _rows(kind: TrailKind, organisation: Organisation, asked: AskedTrail, zone: ZoneInfo) -> QuerySet[Any]:
    narrowed: dict[str, Any] = {kind.path: organisation.pk, f"{kind.at}__isnull": False}
    if asked.person is not None:
        narrowed[kind.by] = asked.person
    if asked.since is not None:
        narrowed[f"{kind.at}__gte"] = datetime.combine(asked.since, time(), zone)
    if asked.until is not None:
        narrowed[f"{kind.at}__lt"] = datetime.combine(asked.until + timedelta(days=1), time(), zone)
    rows: QuerySet[Any] = apps.get_model(kind.label)._base_manager.filter(**narrowed).order_by()
    return rows


def _columns(rows: Any, kind: TrailKind) -> QuerySet[Any, tuple[Any, ...]]:
    """The columns of a TrailRow in their order, which every kind gives alike."""
    columns = {
        "trail_kind": _text(kind.key),
        "trail_at": F(kind.at),
        "trail_by": F(f"{kind.by}_id") if kind.by else Cast(Value(None), IntegerField()),
        "trail_how": Cast(F("history_type"), CharField()) if kind.is_history else _text(""),
        "trail_about": Cast(F(kind.about), CharField()) if kind.about else _text(""),
        "trail_link": F(kind.of) if kind.of else Cast(Value(None), UUIDField()),
        "trail_reason": Cast(F(kind.reason), CharField()) if kind.reason else _text(""),
        "trail_version": F("history_id") if kind.is_history else Cast(Value(None), IntegerField()),
    }
    listed: QuerySet[Any, tuple[Any, ...]] = rows.annotate(**columns).values_list(*columns)
    return listed


def _text(words: str) -> Cast:
    return Cast(Value(words), CharField())


@dataclass(frozen=True, slots=True)
class Versions:
    """A version of a row and the one before it; None for the first."""

    now: Any
    before: Any


def versions_of(rows: Iterable[TrailRow]) -> Mapping[tuple[str, int], Versions]:
    """The versions that some changes stored, by kind and id: two queries a kind."""
    asked: dict[str, list[int]] = {}
    for row in rows:
        if row.version is not None:
            asked.setdefault(row.kind_key, []).append(row.version)
    found: dict[tuple[str, int], Versions] = {}
    for key, ids in asked.items():
        found |= {(key, one.now.history_id): one for one in _with_earlier(TRAIL_BY_KEY[key], ids)}
    return found


def _with_earlier(kind: TrailKind, ids: list[int]) -> Iterator[Versions]:
    rows: Any = apps.get_model(kind.label)._base_manager
    earlier = rows.filter(id=OuterRef("id"), history_id__lt=OuterRef("history_id")).order_by("-history_id")
    those = list(
        rows.filter(history_id__in=ids).annotate(earlier_id=Subquery(earlier.values("history_id")[:1]))
    )
    before = rows.in_bulk([one.earlier_id for one in those if one.earlier_id is not None])
    for one in those:
        yield Versions(one, before.get(one.earlier_id))
