"""Finding sites, surfaces, owners and visits by words, the best match first, for who may see them.

Every word is looked for in columns that hold names and addresses folded (`core.models.folded`), on any database with
the same plain comparison; it reads no row but those of the firm acted for.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Case, F, IntegerField, Prefetch, Q, QuerySet, Value, When

from accounts.calc.roles import Role
from accounts.models import Organisation, Owner, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.folding import words_of
from planning.models import Crew, Visit, VisitTask
from qa.models import Site, Surface
from reporting.calc.searching import Asked, Kind

# Of each kind: the column with its name, then those of what it belongs to and of where it is.
_NAME = "words"
_ELSEWHERE = {
    Kind.OWNER: ("place_words",),
    Kind.SITE: ("place_words", "owner__words"),
    Kind.SURFACE: ("site__words", "site__place_words", "site__owner__words"),
}
# What a line shows of each kind (`found_lines`); nothing else is read.
_SHOWN: dict[Kind, tuple[str, ...]] = {
    Kind.OWNER: ("name", "address"),
    Kind.SITE: ("name", "address", "owner__name"),
    Kind.SURFACE: ("name", "removed_on", "site__name", "site__address", "site__owner__name"),
    Kind.VISIT: ("visit_on", "status", "crew__name"),
}
_MODELS: dict[Kind, Any] = {Kind.OWNER: Owner, Kind.SITE: Site, Kind.SURFACE: Surface, Kind.VISIT: Visit}


@dataclass(frozen=True, slots=True)
class Reader:
    """Who searches. organisation: the firm acted for; None for who reads sites as an owner's person."""

    user: User
    organisation: Organisation | None

    def rows(self, kind: Kind) -> QuerySet[Any]:
        """What the reader may see: all of the firm, or what pages of an owner's people show; those have no visits."""
        rows: TenantQuerySet[Any] = _MODELS[kind].objects.all()
        if self.organisation:
            return rows.for_user(self.user, Role.VIEWER).of_organisation(self.organisation)
        return rows.none() if kind is Kind.VISIT else rows.for_user(self.user)

    def crews(self) -> QuerySet[Crew]:
        """The crews whose names may be searched for."""
        rows = Crew.objects.for_user(self.user, Role.VIEWER)
        return rows.of_organisation(self.organisation) if self.organisation else rows.none()


def found(kind: Kind, asked: Asked, reader: Reader) -> QuerySet[Any]:
    """Rows of a kind in which every word occurs, the best match first; none where nothing is asked."""
    rows = _as_shown(kind, reader.rows(kind))
    if not asked:
        return rows.none()
    if kind is Kind.VISIT:
        return _visits(rows, asked, reader)
    for word in asked.all_words:
        rows = rows.filter(_anywhere(word, (_NAME, *_ELSEWHERE[kind])))
    ranked: QuerySet[Any] = rows.annotate(rank=_rank(asked.all_words)).order_by("rank", *_order(kind))
    return ranked


def _as_shown(kind: Kind, rows: QuerySet[Any]) -> QuerySet[Any]:
    joined = {name.rpartition("__")[0] for name in _SHOWN[kind]} - {""}
    rows = rows.select_related(*joined).only(*_SHOWN[kind])
    if kind is Kind.VISIT:
        tasks = VisitTask.objects.select_related("surface__site").only("visit", "surface__site__name")
        rows = rows.prefetch_related(Prefetch("tasks", tasks))
    return rows


def _anywhere(word: str, columns: Sequence[str]) -> Q:
    return Q(*((f"{column}__contains", word) for column in columns), _connector=Q.OR)


def _order(kind: Kind) -> tuple[Any, ...]:
    if kind is Kind.SURFACE:  # those that are no longer there come last among equals
        return F("removed_on").asc(nulls_first=True), "site__name", "name", "pk"
    return "name", "pk"


# The lower the better: the whole name, its beginning, beginnings of words, parts of words, a word of several.
_RANKS: tuple[Callable[[Sequence[str]], Q], ...] = (
    lambda words: Q((_NAME, f" {' '.join(words)} ")),
    lambda words: Q((f"{_NAME}__startswith", f" {' '.join(words)}")),
    lambda words: Q(*((f"{_NAME}__contains", f" {word}") for word in words)),
    lambda words: Q(*((f"{_NAME}__contains", word) for word in words)),
    lambda words: Q(*((f"{_NAME}__contains", word) for word in words), _connector=Q.OR),
)


def _rank(words: Sequence[str]) -> Case:
    whens = [When(condition(words), then=Value(n)) for n, condition in enumerate(_RANKS)]
    return Case(*whens, default=Value(len(_RANKS)), output_field=IntegerField())


def _visits(rows: QuerySet[Visit], asked: Asked, reader: Reader) -> QuerySet[Visit]:
    """Visits on a day that was asked for, by a crew or to a place of these words; the latest first."""
    for day in asked.days:
        rows = rows.filter(visit_on__startswith=day)
    if asked.words:
        rows = rows.filter(_by_crew_and_place(asked.words, reader))
    rank = (
        0 if asked.days else len(_RANKS)
    )  # who types a day means a visit; else the places themselves come first
    latest = rows.annotate(rank=Value(rank, output_field=IntegerField()))
    return latest.order_by("-visit_on", "crew__name", "pk")


def _by_crew_and_place(words: Sequence[str], reader: Reader) -> Q:
    """Crews that have the same of the words in their name are looked for together: the others are of the place."""
    crews: dict[frozenset[str], list[UUID]] = {}
    for crew in reader.crews():
        held = frozenset(word for word in words if any(word in one for one in words_of(crew.name)))
        crews.setdefault(held, []).append(crew.pk)
    ways = Q()
    for held, keys in crews.items():
        here = Q(crew__in=keys)
        if left := [word for word in words if word not in held]:
            here &= Q(pk__in=VisitTask.objects.filter(surface__in=_places(left, reader)).values("visit"))
        ways |= here
    return ways if crews else Q(pk__in=[])


def _places(words: Sequence[str], reader: Reader) -> QuerySet[Surface, Any]:
    rows = reader.rows(Kind.SURFACE)
    for word in words:
        rows = rows.filter(_anywhere(word, (_NAME, *_ELSEWHERE[Kind.SURFACE])))
    return rows.values("pk")


def still_seen(opened: Iterable[tuple[str, str]], reader: Reader) -> list[tuple[Kind, Any]]:
    """Of kinds and ids, in their order, the rows that are still there and that the reader may see. A query a kind."""
    wanted = [(Kind(kind), UUID(key)) for kind, key in opened if kind in Kind.values]
    rows: dict[tuple[Kind, UUID], Any] = {}
    for kind in dict.fromkeys(kind for kind, _ in wanted):
        keys = [key for of, key in wanted if of is kind]
        rows |= {(kind, row.pk): row for row in _as_shown(kind, reader.rows(kind)).filter(pk__in=keys)}
    return [(one[0], rows[one]) for one in wanted if one in rows]
