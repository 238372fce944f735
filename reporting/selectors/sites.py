"""The page of a site, its report over a period, and the first page of an owner's people."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience, Matter
from accounts.models import User
from maintenance.calc.vocabulary import RecordKind
from maintenance.models import AdviceRelease, Forecast, Recommendation
from maintenance.selectors.records import RecordItem, counted_together, fetch_records, record_of
from qa.calc.citing import VerifiedSources
from qa.calc.rounds import Rate
from qa.models import Location, Site, Surface
from qa.presentation import disclaimers
from qa.selectors.days import usual_date
from reporting.calc.snapshots import (
    ReportedSurface,
    ReportSnapshot,
    SiteOfOwner,
    SiteSnapshot,
    StartSnapshot,
)
from reporting.calc.values import Money, sums
from reporting.selectors.coming import downloads_of, next_visits, visits_to_site
from reporting.selectors.findings import still_open
from reporting.selectors.handing_over import site_plan_part, training_parts
from reporting.selectors.histories import forecast_part, record_lines
from reporting.selectors.parts import (
    acceptance_part,
    agreement_part,
    build_up_part,
    counted_states,
    forecast_of,
    last_rates,
    limit_part,
    plan_part,
    released_parts,
    spots_with,
    standing,
)
from reporting.selectors.report_parts import (
    agreed_in_period,
    reported_rounds,
    used_methods,
    visits_to_come,
    waiting_quotes,
)
from reporting.selectors.report_water import RainOfPeriod, rain_of_period, water_part
from reporting.selectors.sources import verified_sources

CAUTIONS = (
    disclaimers.AID_ONLY,
    disclaimers.ONE_SPOT_ONE_DAY,
    gettext_noop(
        "A forecast is an estimate with a range, made from this surface's tests and from others of its kind."
    ),
    disclaimers.UTILITIES,
    disclaimers.DUST_AND_TRAFFIC,
    disclaimers.WASTE_AND_WELLS,
    disclaimers.SETBACKS,
)


def site_snapshot(site: Site, audience: Audience) -> SiteSnapshot:
    """Everything the page says, read from the record."""
    return SiteSnapshot(
        audience=audience,
        key=site.pk,
        name=site.name,
        address=site.address,
        owner=site.owner.name,
        owner_key=site.owner_id,
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        time_zone=site.time_zone,
        frost_months=tuple(site.frost_months),
        leaf_fall_months=tuple(site.leaf_fall_months),
        agreement=agreement_part(site, audience),
        surfaces=tuple(standing(surface) for surface in _lean(site.surfaces.all())),
        access_note=audience.shown(Matter.ACCESS, site.access_note, ""),
        plan=site_plan_part(site),
        trainings=training_parts(site, audience),
        visits=visits_to_site(site, audience),
        downloads=downloads_of(site),
    )


def sites_in_service(user: User) -> QuerySet[Site]:
    """The sites that a person may read of which a surface is in service, by name."""
    here = Surface.objects.filter(site=OuterRef("pk")).in_service()
    return Site.objects.for_user(user).filter(Exists(here)).order_by("name", "pk")


def start_snapshot(
    user: User, at: datetime, audience: Audience = Audience.OWNER, sites: Sequence[UUID] | None = None
) -> StartSnapshot:
    """The sites that a person reads for their owner, and what comes next at all of them.

    sites: those of a page of them; without it, all.
    """
    seen = Surface.objects.for_user(user).in_service()
    states, zones = counted_together(seen)
    shown = seen if sites is None else seen.filter(site__in=sites)
    # Two firms may each have a site of one name.
    rows = _lean(shown).order_by("site__name", "site_id", "name")
    surfaces = [standing(surface) for surface in rows]
    today = usual_date(zones.elements(), at)
    coming = next_visits(user, today) if audience.sees(Matter.VISITS) else {}
    released = AdviceRelease.objects.for_user(user).shown()
    joined = "recommendation", "surface__site", "surface__forecast"
    return StartSnapshot(
        audience=audience,
        today=today,
        states=counted_states(states),
        sites=tuple(
            SiteOfOwner(key, name, tuple(listed), coming.get(key))
            for (key, name), listed in groupby(surfaces, lambda surface: (surface.site_key, surface.site))
        ),
        advice=released_parts(
            released.select_related(*joined).defer(*Forecast.bulky("surface__forecast__")), audience
        ),
    )


def _lean(surfaces: QuerySet[Surface]) -> QuerySet[Surface]:
    """Surfaces with site and forecast joined, the curves of the forecast unread."""
    return surfaces.select_related("site", "forecast").defer(*Forecast.bulky("forecast__"))


def report_snapshot(site: Site, audience: Audience, *, since: date) -> ReportSnapshot:
    """A site's report from that day until today, by the date at the site.

    It is a client's document: of advice it holds what was released, whoever reads it.
    """
    surfaces = _surfaces_of(site)
    fetch_records(surfaces)
    records = {surface.pk: record_of(surface, forecast_of(surface)) for surface in surfaces}
    verified = verified_sources(site.organisation, audience)
    gathered = _Gathered(since, audience, verified, rain_of_period(site, since), last_rates(surfaces))
    parts = tuple(_reported(surface, records[surface.pk], gathered) for surface in surfaces)
    by_surface = [(surface, records[surface.pk]) for surface in surfaces]
    items = [item for items in records.values() for item in items]
    rounds, cleanings = _done(items, since)
    return ReportSnapshot(
        audience=audience,
        key=site.pk,
        site=site.name,
        address=site.address,
        owner=site.owner.name,
        firm=site.organisation.name,
        since=since,
        made_on=site.today(),
        agreement=agreement_part(site, audience),
        states=counted_states(part.standing.state for part in parts),
        rounds_done=len(rounds),
        cleanings_done=len(cleanings),
        spent=audience.shown(Matter.PRICES, _spent(cleanings), ()),
        ahead=sums(advice.cost for part in parts for advice in part.advice),
        surfaces=parts,
        cautions=tuple(_(caution) for caution in CAUTIONS),
        demo_notice=_(settings.DEMO_NOTICE),
        inspections_done=_inspections(items, since),
        open_findings=sum(len(part.findings) for part in parts),
        agreed=agreed_in_period(site, by_surface, since, audience),
        quotes=waiting_quotes(site, audience),
        visits=visits_to_come(site, audience),
        methods=used_methods(by_surface, since, verified),
    )


def reported_surface(
    site: Site, key: UUID, audience: Audience, *, with_record: bool
) -> ReportedSurface | None:
    """One surface as a report of today draws it, without its water; None where the report has no such surface.

    with_record: what was tested and done as well, which takes a third of the time.
    """
    surfaces = _surfaces_of(site, only=key)
    if with_record:
        fetch_records(surfaces)
    verified = verified_sources(site.organisation, audience)
    gathered = _Gathered(site.today(), audience, verified, None, last_rates(surfaces))
    for surface in surfaces:
        items = record_of(surface, forecast_of(surface)) if with_record else ()
        return _reported(surface, items, gathered)
    return None


@dataclass(frozen=True, slots=True)
class _Gathered:
    """What every surface of a report is made with. last_rates: what the ring last read, by location."""

    since: date
    audience: Audience
    verified: VerifiedSources
    rain: RainOfPeriod | None
    last_rates: Mapping[UUID, Rate]


def unreleased_count(site: Site) -> int:
    """How many open pieces of advice at a site its owner was not shown, and so are in no report."""
    shown = AdviceRelease.objects.standing().filter(recommendation=OuterRef("pk"))
    rows = Recommendation.objects.open().filter(surface__site=site, surface__removed_on=None)
    return rows.exclude(Exists(shown)).count()


def _surfaces_of(site: Site, *, only: UUID | None = None) -> list[Surface]:
    released = AdviceRelease.objects.shown().select_related("recommendation")
    places = Prefetch("locations", Location.objects.filter(retired=False), "places")
    rows = site.surfaces.filter(removed_on=None).select_related("forecast", "site", "own_limit", "outline")
    rows = rows.filter(pk=only) if only else rows
    advice = Prefetch("advice_releases", released, "released")
    return list(rows.prefetch_related("layers").prefetch_related(places).prefetch_related(advice))


def _reported(surface: Surface, items: Sequence[RecordItem], gathered: _Gathered) -> ReportedSurface:
    audience, verified, since = gathered.audience, gathered.verified, gathered.since
    record, forecast = record_lines(items, audience), forecast_of(surface)
    return ReportedSurface(
        standing=standing(surface),
        limit=limit_part(surface, verified),
        acceptance=acceptance_part(surface, verified),
        forecast=forecast_part(surface, forecast, items),
        advice=released_parts(surface.released, audience),  # type: ignore[attr-defined]  # as prefetched above
        record=tuple(line for line in record if line.on >= since),
        build_up=build_up_part(surface),
        findings=still_open(record),
        plan=plan_part(surface),
        spots=spots_with(surface, gathered.last_rates),
        rounds=reported_rounds(surface, items, since, audience),
        water=water_part(surface, forecast, gathered.rain),
    )


def _done(items: Iterable[RecordItem], since: date) -> tuple[list[RecordItem], list[RecordItem]]:
    """Rounds with a test and cleanings of the period that count, as the report lists them below."""
    counted = [item for item in items if item.row.is_active and item.on >= since]
    tested = [item for item in counted if item.kind is RecordKind.ROUND and (item.spots or item.others)]
    return tested, [item for item in counted if item.kind is RecordKind.CLEANING]


def _inspections(items: Iterable[RecordItem], since: date) -> int:
    """Inspections of the period that count."""
    return sum(
        item.kind is RecordKind.INSPECTION and item.row.is_active and item.on >= since for item in items
    )


def _spent(cleanings: Sequence[RecordItem]) -> tuple[Money, ...]:
    rows: list[Any] = [item.row for item in cleanings]
    return sums(Money(row.cost, row.currency) for row in rows if row.cost)
