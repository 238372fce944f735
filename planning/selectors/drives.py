"""Drives between depots and sites: as the firm measured them where it did, else by great circles."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

import numpy as np

from accounts.models import Organisation
from planning.calc.drive_file import DriveTimes, plain
from planning.calc.routing.problem import Floats, Ints
from planning.calc.routing.travel import minutes_of, road_km
from planning.models import Crew, DriveTable
from qa.models import Site

GUESSED_KM = 20.0  # between sites of which one has no coordinates; our judgement


@dataclass(frozen=True)
class Drives:
    """Crews' depots come first, one place each, then sites. at: place by site; km, minutes: (P, P)

    without_place: sites of which a drive is guessed; measured: (P, P) whether a drive is from the firm's file
    """

    at: dict[UUID, int]
    km: Floats
    minutes: Ints
    without_place: tuple[str, ...]
    measured: np.ndarray


def drives_between(organisation: Organisation, crews: Sequence[Crew], sites: Sequence[Site]) -> Drives:
    """All drives there are to be had for a plan."""
    at = {site.pk: len(crews) + i for i, site in enumerate(sites)}
    points = [(crew.latitude_deg, crew.longitude_deg) for crew in crews]
    points += [(site.latitude_deg, site.longitude_deg) for site in sites]
    km = _by_great_circles(points, len(crews))
    minutes = minutes_of(km)
    measured = np.zeros(km.shape, dtype=bool)
    table = DriveTable.objects.of_organisation(organisation).first()
    if table is not None:
        places = {crew.pk: i for i, crew in enumerate(crews)} | at
        _put_in(table.drives, places, km, minutes, measured)
    guessed = [
        s for s in sites if None in (s.latitude_deg, s.longitude_deg) and not _is_known(measured, at[s.pk])
    ]
    return Drives(at, km, minutes, tuple(map(str, guessed)), measured)


def _put_in(
    table: DriveTimes, places: dict[UUID, int], km: Floats, minutes: Ints, measured: np.ndarray
) -> None:
    """Measured drives in place of those by great circles."""
    own = [places.get(place) for place in table.places]
    for here, there, drive_min, drive_km in table.drives:
        row, column = own[here], own[there]
        if row is not None and column is not None:
            minutes[row, column], km[row, column], measured[row, column] = drive_min, drive_km, True


def _is_known(measured: np.ndarray, place: int) -> bool:
    """Whether every drive to and from a place was measured."""
    others = np.arange(len(measured)) != place
    return bool(measured[place, others].all() and measured[others, place].all())


def _by_great_circles(points: Sequence[tuple[float | None, float | None]], crews: int) -> Floats:
    """Between sites of which one has no coordinates the drive is guessed; a depot without lies in the middle."""
    if not points:
        return np.zeros((0, 0))
    known = [(lat, lon) for lat, lon in points if lat is not None and lon is not None]
    middle = tuple(np.mean(known, axis=0)) if known else (0.0, 0.0)
    lat, lon = zip(*[middle if None in point else point for point in points], strict=True)
    guess = np.array([None in point and i >= crews for i, point in enumerate(points)], dtype=bool)
    km = np.where(guess[:, None] | guess, GUESSED_KM, road_km(lat, lon))
    np.fill_diagonal(km, 0.0)
    return np.asarray(km)


def named_places(organisation: Organisation) -> tuple[dict[str, list[UUID]], frozenset[str]]:
    """Ids of sites and of crews by the names a file may use, and names of which nobody can tell whose they are: those
    of several sites, or of a site and a depot. Names are as `plain` makes them.

    A crew's depot is named by its words, or by the crew's name.
    """
    depots: dict[str, list[UUID]] = defaultdict(list)
    for crew in Crew.objects.of_organisation(organisation).filter(retired=False):
        for name in {plain(crew.depot), plain(crew.name)} - {""}:
            depots[name].append(crew.pk)
    sites: dict[str, list[UUID]] = defaultdict(list)
    for pk, name in Site.objects.of_organisation(organisation).values_list("pk", "name"):
        sites[plain(name)].append(pk)
    doubled = frozenset(name for name, ids in sites.items() if len(ids) > 1 or name in depots)
    return {name: ids for name, ids in {**depots, **sites}.items() if name not in doubled}, doubled
