"""Owners, sites and surfaces as they are answered."""

from datetime import date, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from accounts.calc.audience import Audience, Matter
from accounts.models import Owner
from api.presentation.base import Row, Shown
from core.calc.paving import SurfaceType, Traffic
from core.calc.units import shortened
from qa.calc.counts import Zone
from qa.forms.limit_choice import chosen_rule
from qa.models import Location, Site, Surface


class OwnerOut(Row):
    """The party that owns sites and receives reports."""

    name: str
    address: str
    email: str
    phone: str
    note: str


class SiteOut(Row):
    """A property with one or more surfaces."""

    owner: UUID
    name: str
    address: str
    latitude_deg: float | None
    longitude_deg: float | None
    time_zone: str
    """Area and city. It decides what day it is at the site."""
    frost_months: list[int]
    leaf_fall_months: list[int]
    closed_weekdays: list[int]
    """1 is Monday."""
    works_from: time | None
    works_until: time | None
    notice_days: int | None
    rain_record: UUID | None
    access_note: str
    """How to get in; for people of the firm."""
    below_price_m2_yr: str | None
    """What a year within the limit is worth, a square metre, where it differs; for people of the firm."""


class LocationOut(Shown):
    """A fixed test spot."""

    id: UUID
    label: str
    zone: Zone
    description: str
    x_m: float | None
    y_m: float | None
    retired: bool


class LimitOut(Shown):
    """The rate below which the surface must be cleaned, and where it comes from."""

    rate_mm_h: float
    source: str


class SurfaceOut(Row):
    """One continuous permeable area of one build-up."""

    site: UUID
    name: str
    surface_type: SurfaceType
    area_m2: float
    opened_on: date
    removed_on: date | None
    traffic: Traffic
    run_on_area_m2: float
    run_on_from: str
    bare_soil: bool
    trees: bool
    winter_grit: bool
    limit: LimitOut
    rule: str
    """The rule that the limit rests on; empty where a design rain or an agreement says it."""
    design_intensity_mm_h: float | None
    clogging_share: float
    agreed_limit_mm_h: float | None
    agreed_source: str
    acceptance_rate_mm_h: float | None
    joint_width_mm: float | None
    overflow_diameter_mm: float | None
    overflow_invert_mm: float | None
    soil_measured_mm_h: float | None
    soil_safety_factor: float | None
    soil_rate_mm_h: float | None
    reuse_store_m3: float | None
    drain_limit_h: float | None
    subgrade_slope_percent: float | None
    subgrade_fall_length_m: float | None
    foundation_distance_m: float | None
    well_distance_m: float | None
    water_table_depth_m: float | None
    guarantee_from: date | None
    guarantee_months: int | None
    note: str
    """For people of the firm."""
    locations: list[LocationOut]


AS_STORED = tuple(
    name
    for name in SurfaceOut.model_fields
    if name not in ("id", "stored_at", "site", "limit", "rule", "note", "locations")
)


def owner_out(row: Owner, audience: Audience) -> OwnerOut:
    """An owner; how to reach them, and what the firm notes of them, only for the firm."""
    return OwnerOut(
        id=row.pk,
        stored_at=row.created_at,
        name=row.name,
        address=row.address,
        email=audience.shown(Matter.OWNERS_PEOPLE, row.email, ""),
        phone=audience.shown(Matter.OWNERS_PEOPLE, row.phone, ""),
        note=audience.shown(Matter.NOTES, row.note, ""),
    )


def site_out(row: Site, audience: Audience) -> SiteOut:
    """A site; how to get in only for the firm."""
    return SiteOut(
        id=row.pk,
        stored_at=row.created_at,
        owner=row.owner_id,
        name=row.name,
        address=row.address,
        latitude_deg=row.latitude_deg,
        longitude_deg=row.longitude_deg,
        time_zone=row.time_zone,
        frost_months=list(row.frost_months),
        leaf_fall_months=list(row.leaf_fall_months),
        closed_weekdays=list(row.closed_weekdays),
        works_from=row.works_from,
        works_until=row.works_until,
        notice_days=row.notice_days,
        rain_record=audience.shown(Matter.NOTES, row.rain_record_id, None),
        access_note=audience.shown(Matter.ACCESS, row.access_note, ""),
        below_price_m2_yr=audience.shown(Matter.COSTS, _decimal(row.below_price_m2_yr), None),
    )


def _decimal(value: Decimal | None) -> str | None:
    return None if value is None else f"{shortened(value):f}"


def surface_out(row: Surface, audience: Audience) -> SurfaceOut:
    """A surface with its limit and locations. Expects the locations fetched."""
    values: dict[str, Any] = {name: getattr(row, name) for name in AS_STORED}
    return SurfaceOut(
        id=row.pk,
        stored_at=row.created_at,
        site=row.site_id,
        limit=LimitOut(rate_mm_h=row.limit_mm_h, source=row.limit_source),
        rule=chosen_rule(row),
        note=audience.shown(Matter.NOTES, row.note, ""),
        locations=[_location(one) for one in row.locations.all()],
        **values,
    )


def _location(row: Location) -> LocationOut:
    return LocationOut(**{name: getattr(row, name) for name in LocationOut.model_fields})
