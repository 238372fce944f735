"""What is new to somebody about the days of visits: what they were told against how things stand."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from core.calc.choices import TextChoice


class Kind(TextChoice):
    """What became of a day."""

    SET = "set", "New day"
    MOVED = "moved", "Moved"
    CANCELLED = "cancelled", "Cancelled"


@dataclass(frozen=True, slots=True)
class Standing:
    """A visit as it concerns one owner. work: what is to be done at which site, in words; site: their names."""

    on: date
    site: str
    work: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class News:
    """One thing to tell. on: the day it is about; was_on: the day told before, of what moved."""

    visit: UUID
    kind: Kind
    on: date
    site: str
    work: tuple[str, ...] = ()
    was_on: date | None = None


def news_of(
    told: Mapping[UUID, date | None],
    standing: Mapping[UUID, Standing],
    gone: Mapping[UUID, str],
    today: date,
) -> tuple[News, ...]:
    """What to tell, by day; nothing of days that are over.

    told: days by visit, None for one told to be cancelled; standing: visits to come; gone: sites of visits that were
    cancelled, or on which nothing is left to do for the owner. A day moved there and back is no news.
    """
    found = [
        _of_standing(visit, each, told.get(visit)) for visit, each in standing.items() if each.on >= today
    ]
    for visit, site in gone.items():
        was = told.get(visit)
        if was is not None and was >= today:
            found.append(News(visit, Kind.CANCELLED, was, site))
    return tuple(sorted((one for one in found if one), key=lambda one: (one.on, one.site)))


def _of_standing(visit: UUID, each: Standing, was: date | None) -> News | None:
    if was == each.on:
        return None
    kind = Kind.SET if was is None else Kind.MOVED
    return News(visit, kind, each.on, each.site, each.work, was)
