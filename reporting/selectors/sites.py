"""The page of a site, its report over a period, and the first page of an owner's people."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from itertools import groupby

from django.conf import settings
from django.db.models import Prefetch

from accounts.calc.audience import Audience, Matter
from accounts.models import User
from maintenance.calc.vocabulary import RecordKind
from maintenance.models import Recommendation
from maintenance.selectors.records import RecordItem, fetch_records, record_of
from qa.models import Site, Surface
from qa.presentation import disclaimers
from reporting.calc.parts import AdvicePart
from reporting.calc.snapshots import (
    ReportedSurface,
    ReportSnapshot,
    SiteOfOwner,
    SiteSnapshot,
    StartSnapshot,
)
from reporting.calc.values import Money
from reporting.selectors.histories import forecast_part, record_lines
from reporting.selectors.parts import (
    acceptance_part,
    advice_parts,
    agreement_part,
    build_up_part,
    counted_states,
    forecast_of,
    limit_part,
    standing,
)

CAUTIONS = (
    disclaimers.AID_ONLY,
    disclaimers.ONE_SPOT_ONE_DAY,
    "A forecast is an estimate with a range, made from this surface's tests and from others of its kind.",
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
        surfaces=tuple(standing(surface) for surface in site.surfaces.select_related("site", "forecast")),
        access_note=audience.shown(Matter.ACCESS, site.access_note, ""),
    )


def start_snapshot(user: User, today: date, audience: Audience = Audience.OWNER) -> StartSnapshot:
    """The sites that a person reads for their owner, and what comes next at them."""
    rows = Surface.objects.for_user(user).in_service().select_related("site", "forecast")
    surfaces = [standing(surface) for surface in rows]
    advice = Recommendation.objects.for_user(user).ahead()
    return StartSnapshot(
        audience=audience,
        today=today,
        states=counted_states(surfaces),
        sites=tuple(
            SiteOfOwner(key, name, tuple(listed))
            for (key, name), listed in groupby(surfaces, lambda surface: (surface.site_key, surface.site))
        ),
        advice=advice_parts(advice.select_related("surface__site", "surface__forecast"), audience),
    )


def report_snapshot(site: Site, audience: Audience, *, since: date) -> ReportSnapshot:
    """A site's report from that day until today, by the date at the site."""
    surfaces = _surfaces_of(site)
    fetch_records(surfaces)
    records = {surface.pk: record_of(surface, forecast_of(surface)) for surface in surfaces}
    parts = tuple(_reported(surface, records[surface.pk], since, audience) for surface in surfaces)
    done = [i for items in records.values() for i in items if i.row.is_active and i.on >= since]
    currency = site.organisation.currency
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
        states=counted_states(part.standing for part in parts),
        rounds_done=sum(item.kind is RecordKind.ROUND for item in done),
        cleanings_done=sum(item.kind is RecordKind.CLEANING for item in done),
        spent=audience.shown(Matter.PRICES, _spent(done, currency), None),
        ahead=_ahead([advice for part in parts for advice in part.advice], currency),
        surfaces=parts,
        cautions=CAUTIONS,
        demo_notice=settings.DEMO_NOTICE,
    )


def _surfaces_of(site: Site) -> list[Surface]:
    advice = Recommendation.objects.ahead()
    rows = site.surfaces.filter(removed_on=None).select_related("forecast", "site", "own_limit")
    return list(rows.prefetch_related("layers", Prefetch("recommendations", advice, "ahead")))


def _reported(
    surface: Surface, items: Sequence[RecordItem], since: date, audience: Audience
) -> ReportedSurface:
    return ReportedSurface(
        standing=standing(surface),
        limit=limit_part(surface),
        acceptance=acceptance_part(surface),
        forecast=forecast_part(surface, forecast_of(surface), items),
        advice=advice_parts(surface.ahead, audience),  # type: ignore[attr-defined]  # as prefetched above
        record=record_lines((item for item in items if item.on >= since), audience),
        build_up=build_up_part(surface),
    )


def _spent(done: Sequence[RecordItem], currency: str) -> Money | None:
    costs = [item.row.cost for item in done if item.kind is RecordKind.CLEANING and item.row.cost]  # type: ignore[union-attr]
    return Money(sum(costs, Decimal(0)), currency) if costs else None


def _ahead(advice: Sequence[AdvicePart], currency: str) -> Money | None:
    costs = [piece.cost.amount for piece in advice if piece.cost and piece.cost.amount]
    return Money(sum(costs, Decimal(0)), currency) if costs else None
