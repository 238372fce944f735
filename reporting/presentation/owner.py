"""The owner's report: its content once, as plain data, whatever renders it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, Sum

from core.calc.audit import AuditState
from maintenance.calc.vocabulary import RecordKind, SurfaceState
from maintenance.models import Forecast, Recommendation
from maintenance.presentation.charts import decline_figure
from maintenance.presentation.wording import chart_title, forecast_sentence
from maintenance.selectors.records import RecordItem, chart_record, fetch_records, record_of, state_counts
from planning.models import Agreement
from qa.calc.limits import Governing
from qa.models import Site, Surface
from qa.presentation import disclaimers
from qa.presentation.section import Picture, section_picture
from qa.selectors.rounds import Acceptance, latest_acceptance
from qa.selectors.surface_limits import limit_known

CAUTIONS = (
    disclaimers.AID_ONLY,
    disclaimers.ONE_SPOT_ONE_DAY,
    "A forecast is an estimate with a range, made from this surface's tests and from others of its kind.",
    disclaimers.UTILITIES,
    disclaimers.DUST_AND_TRAFFIC,
    disclaimers.WASTE_AND_WELLS,
    disclaimers.SETBACKS,
)


@dataclass(frozen=True, slots=True)
class SurfaceReport:
    """One surface in the report."""

    surface: Surface
    state: str
    forecast: Forecast | None
    sentence: str
    figure: dict[str, Any] | None
    chart_title: str
    picture: Picture
    items: list[RecordItem]
    advice: list[Recommendation]
    limit: Governing | None
    acceptance: Acceptance


@dataclass(frozen=True, slots=True)
class OwnerReport:
    """A site's report for its owner over a period."""

    site: Site
    made_on: date
    since: date
    agreement: Agreement | None
    states: list[tuple[str, str, int]]
    surfaces: list[SurfaceReport]
    rounds_done: int
    cleanings_done: int
    spent: Decimal | None
    ahead: Decimal | None
    cautions: tuple[str, ...]


def owner_report(site: Site, *, since: date, units: str) -> OwnerReport:
    """Everything the report says, read from the record."""
    ahead = Prefetch("recommendations", Recommendation.objects.ahead(), "ahead")
    rows = site.surfaces.filter(removed_on=None).select_related("forecast", "site", "own_limit")
    surfaces = list(rows.prefetch_related("layers", ahead))
    fetch_records(surfaces)
    parts = [_surface_report(surface, since, units) for surface in surfaces]
    items = [item for part in parts for item in part.items if item.row.is_active]
    return OwnerReport(
        site=site,
        made_on=site.today(),
        since=since,
        agreement=getattr(site, "agreement", None),
        states=[entry for entry in state_counts(part.state for part in parts) if entry[2]],
        surfaces=parts,
        rounds_done=sum(item.kind is RecordKind.ROUND for item in items),
        cleanings_done=sum(item.kind is RecordKind.CLEANING for item in items),
        spent=_spent(site, since),
        ahead=sum((row.cost for part in parts for row in part.advice if row.cost), Decimal(0)) or None,
        cautions=CAUTIONS,
    )


def _surface_report(surface: Surface, since: date, units: str) -> SurfaceReport:
    forecast = getattr(surface, "forecast", None)
    items = record_of(surface, forecast)
    has_curve = forecast is not None and forecast.detail is not None
    return SurfaceReport(
        surface=surface,
        state=forecast.surface_state if forecast else SurfaceState.NOT_TESTED,
        forecast=forecast,
        sentence=forecast_sentence(surface, forecast, units) if forecast and has_curve else "",
        figure=decline_figure(chart_record(surface, forecast, items), units)
        if forecast and has_curve
        else None,
        chart_title=chart_title(surface),
        picture=section_picture(surface, units),
        items=[item for item in items if item.on >= since],
        advice=surface.ahead,  # type: ignore[attr-defined]
        limit=limit_known(surface, units),
        acceptance=latest_acceptance(surface, units),
    )


def _spent(site: Site, since: date) -> Decimal | None:
    events = site.surfaces.filter(cleanings__state=AuditState.ACTIVE, cleanings__cleaned_on__gte=since)
    return events.aggregate(total=Sum("cleanings__cost"))["total"]
