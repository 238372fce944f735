"""Turns stored records into what the clogging model reads."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from django.db.models import Exists, Model, OuterRef, QuerySet, prefetch_related_objects

from accounts.models import Organisation
from clogging import api
from core.calc.bounds import Bound
from maintenance.calc.vocabulary import Wetness
from maintenance.models import CleaningEvent
from qa.calc.counts import Zone
from qa.calc.rounds import Purpose, Rate, spot_mean
from qa.calc.zones import weights_of, zone_areas_m2
from qa.models import InfiltrationTest, Outline, SourceChange, Surface, TestRound

DAYS_A_YEAR = 365.25
CLEANED, CHANGED = "was_cleaned", "source_changed"  # what `marked` marks
# Events of one day in the order they happen: a test before cleaning, the cleaning, a test after.
_BEFORE, _CLEANING, _AFTER, _SOURCE = range(4)


class Entry(NamedTuple):
    """A record of a surface: of what model, of what kind, when it was entered, and for which day."""

    of: type[Model]
    kind: str
    entered_at: datetime
    on: date


@dataclass(frozen=True, slots=True)
class Recorded:
    """A surface with its history as the model reads it, and the records that it is read from.

    round_ids, cleaning_ids: rows behind the history's rounds and cleanings, in the same order. A round in
    which two methods were used stands there once for each.
    """

    surface: Surface
    history: api.SurfaceHistory
    round_ids: Sequence[UUID]
    cleaning_ids: Sequence[UUID]
    entries: Sequence[Entry] = ()


def histories_of(surfaces: Iterable[Surface]) -> list[Recorded]:
    """Histories of many surfaces in at most five queries. Expects `select_related("site")`.

    What `marked` says that a surface has none of is not asked for, nor is an outline that is joined.
    """
    listed = list(surfaces)
    if not listed:
        return []
    tests = _tests_of([surface.pk for surface in listed])
    cleanings, changes = _cleanings_of(_with(listed, CLEANED)), _changes_of(_with(listed, CHANGED))
    areas = _zone_areas_of([s for s in listed if any(test.location_id for test in tests[s.pk])])
    return [_recorded(s, tests[s.pk], cleanings[s.pk], changes[s.pk], areas.get(s.pk)) for s in listed]


def marked(surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
    """Surfaces that know whether they were ever cleaned, and whether their source changed: most were not, or once."""
    cleaned = CleaningEvent.objects.active().filter(surface=OuterRef("pk"))
    changed = SourceChange.objects.active().filter(surface=OuterRef("pk"))
    return surfaces.annotate(**{CLEANED: Exists(cleaned), CHANGED: Exists(changed)})


def _with(surfaces: Sequence[Surface], mark: str) -> list[UUID]:
    return [surface.pk for surface in surfaces if getattr(surface, mark, True)]


def portfolio_of(organisation: Organisation) -> list[Recorded]:
    """Every surface of a firm; those that were removed still teach how their kind declines."""
    return histories_of(Surface.objects.of_organisation(organisation).select_related("site"))


def date_of(surface: Surface, t_yr: float | None) -> date | None:
    """The calendar date so many years after opening; None for a time that never comes."""
    return None if t_yr is None else day_at(surface, t_yr)


def day_at(surface: Surface, t_yr: float) -> date:
    """The calendar date so many years after opening."""
    return surface.opened_on + timedelta(days=round(t_yr * DAYS_A_YEAR))


def years_of(surface: Surface, day: date) -> float:
    """Years from opening; a day before opening counts as the day of opening."""
    return max(0.0, (day - surface.opened_on).days / DAYS_A_YEAR)


def _tests_of(ids: Sequence[UUID]) -> dict[UUID, list[InfiltrationTest]]:
    rows = InfiltrationTest.objects.in_active_rounds().valid().with_rate().filter(round__surface__in=ids)
    by_surface: dict[UUID, list[InfiltrationTest]] = defaultdict(list)
    for test in rows.select_related("round", "location").order_by(
        "round__tested_on", "made_at", "created_at"
    ):
        by_surface[test.round.surface_id].append(test)
    return by_surface


def _cleanings_of(ids: Sequence[UUID]) -> dict[UUID, list[CleaningEvent]]:
    by_surface: dict[UUID, list[CleaningEvent]] = defaultdict(list)
    rows = CleaningEvent.objects.active().filter(surface__in=ids) if ids else CleaningEvent.objects.none()
    for event in rows.order_by("cleaned_on", "created_at"):
        by_surface[event.surface_id].append(event)
    return by_surface


def _changes_of(ids: Sequence[UUID]) -> dict[UUID, list[SourceChange]]:
    by_surface: dict[UUID, list[SourceChange]] = defaultdict(list)
    rows = SourceChange.objects.active().filter(surface__in=ids) if ids else SourceChange.objects.none()
    for change in rows.order_by("changed_on", "created_at"):
        by_surface[change.surface_id].append(change)
    return by_surface


def _zone_areas_of(surfaces: Sequence[Surface]) -> dict[UUID, dict[Zone, float]]:
    """Of surfaces with spots at named locations; the others need none."""
    prefetch_related_objects(surfaces, "outline")
    rows: list[Outline | None] = [getattr(surface, "outline", None) for surface in surfaces]
    return {row.surface_id: zone_areas_m2(row.plan) for row in rows if row}


def _recorded(
    surface: Surface,
    tests: Sequence[InfiltrationTest],
    cleanings: Sequence[CleaningEvent],
    changes: Sequence[SourceChange],
    areas_m2: dict[Zone, float] | None,
) -> Recorded:
    dated = [_dated_round(surface, group, areas_m2) for group in _by_day_and_method(tests)]
    dated += [_dated_cleaning(surface, event) for event in cleanings]
    dated += [_dated_change(surface, change) for change in changes]
    dated.sort(key=lambda item: item[:2])
    events = tuple(event for _, _, event, _ in dated)
    history = api.SurfaceHistory(surface.surface_type, _conditions(surface), events)
    return Recorded(
        surface,
        history,
        [key for _, _, event, key in dated if isinstance(event, api.RoundEvent)],
        [key for _, _, event, key in dated if isinstance(event, api.CleaningEvent)],
        _entries(tests, cleanings, changes),
    )


def entries_of(surface: Surface) -> list[Entry]:
    """Its records alone, in three queries."""
    ids = [surface.pk]
    tests, cleanings, changes = _tests_of(ids), _cleanings_of(ids), _changes_of(ids)
    return _entries(tests[surface.pk], cleanings[surface.pk], changes[surface.pk])


def _entries(
    tests: Sequence[InfiltrationTest], cleanings: Sequence[CleaningEvent], changes: Sequence[SourceChange]
) -> list[Entry]:
    return [
        *(Entry(InfiltrationTest, row.method, row.created_at, row.round.tested_on) for row in tests),
        *(Entry(CleaningEvent, row.method, row.created_at, row.cleaned_on) for row in cleanings),
        *(Entry(SourceChange, row.kind, row.created_at, row.changed_on) for row in changes),
    ]


def _by_day_and_method(tests: Sequence[InfiltrationTest]) -> list[list[InfiltrationTest]]:
    """Tests of one day by one method are one event, though kept in two rounds; a cleaning between parts them."""
    groups: dict[tuple[date, int, str], list[InfiltrationTest]] = defaultdict(list)
    for test in tests:
        round_ = test.round
        groups[round_.tested_on, _order(round_), test.method].append(test)
    return list(groups.values())


def _order(round_: TestRound) -> int:
    return _AFTER if round_.purpose in (Purpose.ACCEPTANCE, Purpose.AFTER_CLEANING) else _BEFORE


def _dated_round(
    surface: Surface, tests: Sequence[InfiltrationTest], areas_m2: dict[Zone, float] | None
) -> tuple[date, int, api.Event, UUID]:
    round_, by_spot = tests[0].round, _by_spot(tests)
    zones = [Zone(repeats[0].location.zone) if repeats[0].location else None for repeats in by_spot]
    weighed = zip(by_spot, weights_of(zones, areas_m2), strict=True)
    spots = tuple(
        spot._replace(weight=weight) for repeats, weight in weighed for spot in _spot_tests(repeats)
    )
    # The model knows each method's offset from the ring, so it gets the rate as that method measured it.
    event = api.RoundEvent(years_of(surface, round_.tested_on), tests[0].method, spots)
    return round_.tested_on, _order(round_), event, round_.pk


def _by_spot(tests: Sequence[InfiltrationTest]) -> list[list[InfiltrationTest]]:
    spots: dict[object, list[InfiltrationTest]] = defaultdict(list)
    for test in tests:
        spots[test.location_id or (test.round_id, test.spot)].append(test)
    return list(spots.values())


def _spot_tests(repeats: Sequence[InfiltrationTest]) -> list[api.SpotTest]:
    """A repeat at the same spot is one look at the surface: the mean of the two, as the standards ask."""
    location = str(repeats[0].location_id) if repeats[0].location_id else None
    rates = [Rate(test.rate_mm_h or 0.0, Bound(test.bound)) for test in repeats]
    mean = spot_mean(rates)
    if mean.bound is Bound.UNCLEAR:  # bounds on both sides have no mean; each is still known
        return [api.SpotTest(r.rate_mm_h, r.bound.value, location) for r in rates]
    return [api.SpotTest(mean.rate_mm_h, mean.bound.value, location)]


def _dated_cleaning(surface: Surface, event: CleaningEvent) -> tuple[date, int, api.Event, UUID]:
    wet = event.wetness == Wetness.WET
    read = api.CleaningEvent(years_of(surface, event.cleaned_on), event.method, event.share_of_area, wet)
    return event.cleaned_on, _CLEANING, read, event.pk


def _dated_change(surface: Surface, change: SourceChange) -> tuple[date, int, api.Event, UUID]:
    read = api.SourceEvent(years_of(surface, change.changed_on), change.kind)
    return change.changed_on, _SOURCE, read, change.pk


def _conditions(surface: Surface) -> api.Conditions:
    """As recorded, which is as they were at first: changes of source stand among the events."""
    return api.Conditions(
        run_on_ratio=surface.run_on_ratio,
        bare_soil=surface.bare_soil,
        trees=surface.trees,
        winter_grit=surface.winter_grit,
        traffic=surface.traffic,
    )
