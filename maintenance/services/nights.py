"""Brings forecasts and advice to a new day where nothing they rest on has changed, many surfaces at once.

Most nights change nothing of a surface but the day. Its curve goes on as it was drawn, so today's rate and chance are
read off it; what it needs within the year was reckoned with it, so today's advice is given from that. Whatever comes
due, stands worse than people were told, or was reckoned too long ago is left to be made anew
(`maintenance.services.forecasts`), and so is what this cannot read.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction

from core.calc.paving import CleaningMethod
from core.services import jobs
from core.services.ends import finish_together
from maintenance.calc.actions import Advice, SurfaceStatus, state_of
from maintenance.calc.advising import Considered, advice_from
from maintenance.calc.costs import Terms
from maintenance.calc.day_after import as_of
from maintenance.calc.forecast_payload import ForecastOutlook
from maintenance.calc.night_payload import Reckoned
from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import Forecast
from maintenance.selectors.bases import basis_of
from maintenance.selectors.care import climate_of, offered_terms
from maintenance.selectors.fits import FirmFits
from maintenance.services.advice_overnight import Given, give_many
from maintenance.services.cleanings import terms_of
from maintenance.services.commitments import commitments
from maintenance.services.limit_notices import is_news
from qa.models import InspectionFinding, Surface
from qa.selectors.inspections import open_sediment_findings

DRAW_BITS = 24


@dataclass(frozen=True, slots=True)
class _Standing:
    """A surface whose forecast still stands. made_from: the columns that say from what and for which day."""

    surface: Surface
    reckoned: Reckoned
    made_from: dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Day:
    """A surface on its new day: columns of its forecast, and its advice."""

    columns: dict[str, Any]
    given: Given


def carry_on(claims: Sequence[jobs.Claim]) -> None:
    """End those of the claimed forecasts that still stand, brought to the day; the others are left."""
    standing = _standing(claims)
    rows = Forecast.objects.in_bulk([claim.job.pk for claim in claims if claim.job.pk in standing])
    days: dict[jobs.Claim, _Day] = {}
    for claim in claims:
        row = rows.get(claim.job.pk)
        day = _day(row, standing[row.pk]) if row else None
        if day:
            days[claim] = day
    with transaction.atomic():
        alike = {claim: standing[claim.job.pk].made_from for claim in days}
        held = finish_together({claim: day.columns for claim, day in days.items()}, alike)
        give_many([days[claim].given for claim in held])
    for claim in held:
        claim.outcome = jobs.Outcome.DONE
    _again(held)


def _again(ended: Sequence[jobs.Claim]) -> None:
    """What changed while it was worked on is to be made once more."""
    rows = Forecast.objects.filter(pk__in=[claim.job.pk for claim in ended])
    if rows.wanted().exists():
        jobs.nudge_wanted(rows)


def _standing(claims: Sequence[jobs.Claim]) -> dict[UUID, _Standing]:
    """Those forecasts whose ground has not changed, by their ids; in as many queries for many as for one."""
    listed = Forecast.objects.filter(pk__in=[claim.job.pk for claim in claims], error="")
    stored = {pk: (of, kept) for pk, of, kept in listed.values_list("pk", "surface", "reckoned_json") if kept}
    joined = Surface.objects.select_related("site__organisation", "site__owner").filter(removed_on=None)
    surfaces = joined.in_bulk([of for of, _ in stored.values()])
    made_from = _grounds(list(surfaces.values()))
    found = {}
    for pk, (of, kept) in stored.items():
        reckoned, ground = Reckoned.read(kept), made_from.get(of)
        if reckoned and ground and _holds(reckoned, *ground, surfaces[of]):
            found[pk] = _Standing(surfaces[of], reckoned, ground[1])
    return found


def _holds(reckoned: Reckoned, basis: str, made_from: dict[str, Any], surface: Surface) -> bool:
    draw = surface.pk.int % (1 << DRAW_BITS)
    return reckoned.basis == basis and reckoned.holds(made_from["made_on"], draw)


def _grounds(surfaces: Sequence[Surface]) -> dict[UUID, tuple[str, dict[str, Any]]]:
    """Of each surface what its forecast would rest on now: the digest, and the columns that say so."""
    commitments().match_records(surfaces)
    # Read in the order in which forecasts are made: what changes meanwhile is found newer.
    firms = {surface.organisation for surface in surfaces}
    fits = {firm.pk: FirmFits(firm) for firm in firms}
    commitments().look_up(surfaces)
    shared = {firm.pk: (fits[firm.pk].name, offered_terms(terms_of(firm))) for firm in firms}
    findings = open_sediment_findings(surfaces)
    found = {}
    for surface in surfaces:
        firm = surface.organisation
        basis = _basis(surface, shared[firm.pk], findings.get(surface.pk))
        found[surface.pk] = (
            basis,
            {
                "made_from_version": surface.record_version,
                "made_on": surface.site.today(),
                "after_fit_id": fits[firm.pk].newest_ended,
            },
        )
    return found


_OfFirm = tuple[str, dict[CleaningMethod, Terms]]


def _basis(surface: Surface, of_firm: _OfFirm, finding: InspectionFinding | None) -> str:
    return basis_of(surface, *of_firm, commitments().agreed_care(surface), finding)


def _day(row: Forecast, standing: _Standing) -> _Day | None:
    """The day of one surface; None where somebody is to be told of it, so that it is looked at anew."""
    today = standing.made_from["made_on"]
    stood, outlook = SurfaceState(row.surface_state), _outlook(row, today)
    if outlook is None:
        return None
    columns = _columns(row, outlook, today)
    status = _status(standing, columns, today)
    state = state_of(status)
    if is_news(stood, state):
        return None
    given = Given(standing.surface, _advice(status, standing.reckoned, outlook))
    return _Day(columns | {"surface_state": state}, given)


def _outlook(row: Forecast, today: date) -> ForecastOutlook | None:
    """Of today, without what no day changes and no advice asks, which is most of what is stored."""
    stored = row.outlook_json
    read = ForecastOutlook.read(stored and stored | {"care": None, "rounds": [], "gains": []})
    return read and as_of(read, today)


def _columns(row: Forecast, outlook: ForecastOutlook, today: date) -> dict[str, Any]:
    """What the day changes. A day on which a chance was reached is today from then on, as in a forecast made anew."""
    now, below = outlook.rate_now_mm_h, outlook.below
    reached = {name: getattr(row, name) for name in ("below_10_on", "below_50_on", "below_90_on")}
    return {
        "rate_now_mm_h": now.median,
        "rate_low_mm_h": now.lo80,
        "rate_high_mm_h": now.hi80,
        "share_below_now": below[0],
        **{name: on and max(on, today) for name, on in reached.items()},
    }


def _status(standing: _Standing, columns: dict[str, Any], today: date) -> SurfaceStatus:
    surface, reckoned = standing.surface, standing.reckoned
    return SurfaceStatus(
        today=today,
        opened_on=surface.opened_on,
        limit_mm_h=surface.limit_mm_h,
        rate_now_mm_h=columns["rate_now_mm_h"],
        share_below_now=columns["share_below_now"],
        below_10_on=columns["below_10_on"],
        below_50_on=columns["below_50_on"],
        last_tested_on=reckoned.last_tested_on,
        last_cleaned_on=reckoned.last_cleaned_on,
        agreed=commitments().agreed_care(surface),
        climate=climate_of(surface),
    )


def _advice(status: SurfaceStatus, reckoned: Reckoned, outlook: ForecastOutlook) -> list[Advice]:
    needs = reckoned.needs_on(status.today)
    worth = outlook.source_worth
    return advice_from(Considered(status, needs, outlook.options, reckoned.signs, worth, reckoned.hours))
