"""The owner's report: its content once, as plain data, whatever renders it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import Prefetch

from maintenance.calc.vocabulary import RecordKind, SurfaceState
from maintenance.models import Forecast, Recommendation
from maintenance.presentation.charts import decline_figure
from maintenance.presentation.wording import chart_title, forecast_sentence
from maintenance.selectors.records import RecordItem, decline_record, fetch_records, record_of, state_counts
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


class Money(NamedTuple):
    """An amount with its currency."""

    amount: Decimal
    currency: str


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
    spent: list[Money]
    ahead: list[Money]
    cautions: tuple[str, ...]


def owner_report(site: Site, *, since: date, units: str) -> OwnerReport:
    """Everything the report says, read from the record."""
    ahead = Prefetch("recommendations", Recommendation.objects.ahead(), "ahead")
    rows = site.surfaces.filter(removed_on=None).select_related("forecast", "site", "own_limit")
    surfaces = list(rows.prefetch_related("layers", ahead))
    fetch_records(surfaces)
    parts = [_surface_report(surface, since, units) for surface in surfaces]
    rounds, cleanings = _done(parts)
    return OwnerReport(
        site=site,
        made_on=site.today(),
        since=since,
        agreement=getattr(site, "agreement", None),
        states=[entry for entry in state_counts(part.state for part in parts) if entry[2]],
        surfaces=parts,
        rounds_done=len(rounds),
        cleanings_done=len(cleanings),
        spent=_sums((item.row.cost, item.row.currency) for item in cleanings),  # type: ignore[union-attr]
        ahead=_sums((row.cost, row.currency) for part in parts for row in part.advice),
        cautions=CAUTIONS,
    )


def _surface_report(surface: Surface, since: date, units: str) -> SurfaceReport:
    forecast = getattr(surface, "forecast", None)
    items = record_of(surface, forecast)
    outlook = forecast.outlook if forecast else None
    return SurfaceReport(
        surface=surface,
        state=forecast.surface_state if forecast else SurfaceState.NOT_TESTED,
        forecast=forecast,
        sentence=forecast_sentence(surface, forecast, outlook, units) if forecast and outlook else "",
        figure=decline_figure(decline_record(surface, forecast, outlook, items), units)
        if forecast and outlook
        else None,
        chart_title=chart_title(surface),
        picture=section_picture(surface, units),
        items=[item for item in items if item.on >= since],
        advice=surface.ahead,  # type: ignore[attr-defined]
        limit=limit_known(surface, units),
        acceptance=latest_acceptance(surface, units),
    )


def _done(parts: Sequence[SurfaceReport]) -> tuple[list[RecordItem], list[RecordItem]]:
    """Rounds with a test and cleanings of the period that count, as the report lists them below."""
    items = [item for part in parts for item in part.items if item.row.is_active]
    tested = [item for item in items if item.kind is RecordKind.ROUND and (item.spots or item.others)]
    return tested, [item for item in items if item.kind is RecordKind.CLEANING]


def _sums(costs: Iterable[tuple[Decimal | None, str]]) -> list[Money]:
    """What the known costs add up to, each currency by itself."""
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for cost, currency in costs:
        sums[currency] += cost or 0
    return [Money(total, currency) for currency, total in sorted(sums.items()) if total]
