"""Keeps each surface's forecast and advice in step with its record.

`Surface.record_version` is the queue: a forecast made from an older version is stale. A task is only a
nudge, and a periodic sweep finds what was left.
"""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils.timezone import now

from accounts.models import Organisation
from clogging import api
from core.calc.paving import CleaningMethod
from core.errors import UnusableRecordError
from maintenance.calc.actions import Levels, Option, SurfaceStatus, advise, state_of
from maintenance.calc.costs import cleaning_cost, cost_per_year
from maintenance.calc.forecast_payload import (
    ForecastOutlook,
    GainOfCleaning,
    Range,
    RateCurve,
    RoundAgainstForecast,
)
from maintenance.calc.suitability import suited_methods
from maintenance.calc.windows import Climate
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.histories import Recorded, date_of, day_at, histories_of, years_of
from maintenance.services import recommendations
from maintenance.services.cleanings import plain_terms, terms_of
from maintenance.services.commitments import commitments
from qa.models import Surface

log = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MOST_ATTEMPTS = 5
HORIZON_YR = 10.0
YOUNG_PORTFOLIO = 12  # surfaces


@dataclass(frozen=True, slots=True)
class Outcome:
    """One surface thought through."""

    status: SurfaceStatus
    levels: Levels
    seen: api.SurfaceForecast
    options: Sequence[Option]


def enqueue_refresh(surface_id: UUID | str) -> None:
    """Have a surface's forecast made anew: at once in this process, or by a worker."""
    from maintenance.tasks import refresh_surface  # tasks import this module

    refresh_surface.delay(str(surface_id))


def enqueue_stale() -> int:
    """Send every surface whose forecast is missing, old or left half-way."""
    missing = Surface.objects.in_service().filter(forecast=None).values_list("pk", flat=True)
    stale = Forecast.objects.stale().filter(
        _free(now()), surface__removed_on=None, attempts__lt=MOST_ATTEMPTS
    )
    ids = [*missing, *stale.values_list("surface_id", flat=True)]
    for surface_id in ids:
        enqueue_refresh(surface_id)
    return len(ids)


def reset_and_enqueue() -> int:
    """Send what the new day made old; what failed too often yesterday is tried afresh."""
    Forecast.objects.filter(attempts__gte=MOST_ATTEMPTS).update(attempts=0)
    return enqueue_stale()


def force_refresh(*, surface: Surface) -> None:
    """Make a surface's forecast anew even though its record has not changed."""
    Forecast.objects.filter(surface=surface).update(made_from_version=0, attempts=0, claimed_at=None)
    enqueue_refresh(surface.pk)


def refresh_firm(organisation: Organisation) -> int:
    """Have every surface of a firm forecast anew, as after a new fit of its portfolio."""
    mine = Forecast.objects.of_organisation(organisation)
    # Whoever is at work on one has the old fit: without its claim it stays silent.
    mine.update(made_from_version=0, attempts=0, claimed_at=None)
    surfaces = Surface.objects.of_organisation(organisation).filter(removed_on=None)
    ids = list(surfaces.values_list("pk", flat=True))
    for surface_id in ids:
        enqueue_refresh(surface_id)
    return len(ids)


def refresh(surface_id: UUID | str) -> str:
    """Make one surface's forecast and advice anew. A second delivery finds it fresh and does nothing."""
    surface = Surface.objects.select_related("site__organisation").filter(pk=surface_id).first()
    if surface is None:
        return "gone"
    commitments().match_records(surface)
    forecast, _ = Forecast.objects.get_or_create(surface=surface)
    if _is_fresh(forecast, surface):
        return "fresh"
    claimed_at = _claim(forecast.pk)
    return "held" if claimed_at is None else _refresh_claimed(surface, forecast.pk, claimed_at)


def _refresh_claimed(surface: Surface, forecast_id: UUID, claimed_at: datetime) -> str:
    mine = Forecast.objects.filter(pk=forecast_id, claimed_at=claimed_at)
    try:
        outcome = compute_forecast(surface, surface.site.today())
    except UnusableRecordError as error:  # the page says how
        refused = mine.update(**_refusal(surface, str(error)))
        return _again_if_changed(surface, "refused") if refused else "lease lost"
    except Exception:
        mine.update(error="The forecast could not be made. It is tried again.", claimed_at=None)
        raise
    if not _write(surface, mine, outcome):
        return "lease lost"
    return _again_if_changed(surface, "done")


def _refusal(surface: Surface, said: str) -> dict[str, Any]:
    return {
        "error": said,
        "claimed_at": None,
        "attempts": 0,
        "made_from_version": surface.record_version,
        "made_on": surface.site.today(),
    }


@transaction.atomic
def _write(surface: Surface, mine: QuerySet[Forecast], outcome: Outcome) -> bool:
    """Forecast and advice together or not at all; only the holder of the claim may write."""
    if not mine.update(**columns(surface, outcome)):
        return False
    pieces = advise(outcome.status, outcome.levels, outcome.options) if surface.removed_on is None else []
    recommendations.sync_recommendations(surface=surface, advice=pieces)
    return True


def _again_if_changed(surface: Surface, outcome: str) -> str:
    newest = Surface.objects.values_list("record_version", flat=True).get(pk=surface.pk)
    if newest > surface.record_version:
        enqueue_refresh(surface.pk)
    return outcome


def _is_fresh(forecast: Forecast, surface: Surface) -> bool:
    same_record = forecast.made_from_version >= surface.record_version and not forecast.is_of_another_edition
    return same_record and forecast.made_on is not None and forecast.made_on >= surface.site.today()


def _claim(forecast_id: UUID) -> datetime | None:
    """One conditional update decides the winner, so two deliveries cannot both work."""
    claimed_at = now()
    won = Forecast.objects.filter(_free(claimed_at), pk=forecast_id).update(
        claimed_at=claimed_at, attempts=F("attempts") + 1
    )
    return claimed_at if won else None


def _free(at: datetime) -> Q:
    return Q(claimed_at=None) | Q(claimed_at__lt=at - LEASE)


def fit_for(organisation: Organisation) -> api.PortfolioFit:
    """The firm's newest portfolio parameters; the priors alone before the first fit."""
    row = PortfolioFit.objects.newest_done(organisation)
    return api.prior_fit() if row is None else _read_fit(row.pk)


@lru_cache(maxsize=64)
def _read_fit(fit_id: UUID) -> api.PortfolioFit:
    # A finished fit never changes, so its draws are worth keeping in the process.
    return api.PortfolioFit.from_dict(PortfolioFit.objects.get(pk=fit_id).result or {})


def current_fit(surface: Surface) -> api.PortfolioFit:
    """The fit to forecast a surface with: of a young portfolio made anew on the spot, else the stored one.

    In a portfolio of a few surfaces one round changes much of what is known of all, and a fit takes some hundredths of
    a second; in a larger one the night's fit is as good and the work is not.
    """
    organisation = surface.organisation
    portfolio = Surface.objects.of_organisation(organisation).select_related("site")[: YOUNG_PORTFOLIO + 1]
    if len(portfolio) > YOUNG_PORTFOLIO:
        return fit_for(organisation)
    try:
        return api.fit_portfolio([recorded.history for recorded in histories_of(portfolio)])
    except UnusableRecordError:  # the record of another surface that cannot be must not stop this one
        return fit_for(organisation)


def compute_forecast(surface: Surface, today: date) -> Outcome:
    """Forecast, status and options of one surface. Raises UnusableRecordError for a record that cannot be."""
    recorded = histories_of([surface])[0]
    fit = current_fit(surface)
    seen = api.forecast_surface(
        recorded.history,
        fit,
        now_yr=_now_yr(recorded, today),
        limit_mm_h=surface.limit_mm_h,
        horizon_yr=HORIZON_YR,
    )
    levels = recommendations.levels_of(surface)
    status = _status(recorded, seen, levels, today)
    options = _options(recorded, fit, seen, status, levels)
    return Outcome(status, levels, seen, options)


def _now_yr(recorded: Recorded, today: date) -> float:
    last = recorded.history.events[-1].t_yr if recorded.history.events else 0.0
    return max(years_of(recorded.surface, today), last)


def _status(recorded: Recorded, seen: api.SurfaceForecast, levels: Levels, today: date) -> SurfaceStatus:
    surface, site = recorded.surface, recorded.surface.site
    agreed = commitments().agreed_care(surface)
    return SurfaceStatus(
        today=today,
        opened_on=surface.opened_on,
        limit_mm_h=surface.limit_mm_h,
        rate_now_mm_h=seen.rate_now_mm_h.median,
        share_below_now=seen.p_below_now,
        alert_on=date_of(surface, seen.first_reach_yr(levels.alert_share)),
        action_on=date_of(surface, seen.first_reach_yr(levels.action_share)),
        last_tested_on=_last_day(recorded, api.RoundEvent),
        last_cleaned_on=_last_day(recorded, api.CleaningEvent),
        agreed=agreed,
        climate=Climate(site.frost_months, site.leaf_fall_months, surface.trees, surface.winter_grit),
    )


def _last_day(recorded: Recorded, kind: type) -> date | None:
    times = [event.t_yr for event in recorded.history.events if isinstance(event, kind)]
    return date_of(recorded.surface, times[-1]) if times else None


def _options(
    recorded: Recorded,
    fit: api.PortfolioFit,
    seen: api.SurfaceForecast,
    status: SurfaceStatus,
    levels: Levels,
) -> list[Option]:
    surface = recorded.surface
    terms = terms_of(surface.organisation)
    at_yr = _cleaning_time(seen, status, surface)
    options = []
    for method in suited_methods(surface.surface_type):
        if not terms[method].offered:
            continue
        outlook = api.after_cleaning(
            recorded.history,
            fit,
            at_yr=at_yr,
            method=method,
            limit_mm_h=surface.limit_mm_h,
            horizon_yr=HORIZON_YR,
            stay_yr=levels.wished_months / 12.0,
        )
        cost = cleaning_cost(plain_terms(terms[method]), surface.area_m2)
        options.append(
            Option(
                method,
                outlook.after_mm_h.median,
                outlook.years_until_limit,
                outlook.p_stays_above,
                cost,
                cost_per_year(cost, outlook.years_until_limit, HORIZON_YR),
            )
        )
    return options


def _cleaning_time(seen: api.SurfaceForecast, status: SurfaceStatus, surface: Surface) -> float:
    """Methods are compared at the day the cleaning falls due, within the coming year."""
    due = status.action_on
    wanted = seen.now_yr if due is None else years_of(surface, due)
    return min(max(wanted, seen.now_yr), seen.now_yr + 1.0)


def columns(surface: Surface, outcome: Outcome) -> dict[str, Any]:
    """What is stored of a forecast."""
    seen = outcome.seen
    return {
        "claimed_at": None,
        "attempts": 0,
        "error": "",
        "made_from_version": surface.record_version,
        "made_on": outcome.status.today,
        "surface_state": state_of(outcome.status, outcome.levels),
        "rate_now_mm_h": seen.rate_now_mm_h.median,
        "rate_low_mm_h": seen.rate_now_mm_h.lo80,
        "rate_high_mm_h": seen.rate_now_mm_h.hi80,
        "share_below_now": seen.p_below_now,
        "below_10_on": date_of(surface, seen.first_reach_yr(0.10)),
        "below_50_on": date_of(surface, seen.first_reach_yr(0.50)),
        "below_90_on": date_of(surface, seen.first_reach_yr(0.90)),
        "decline_percent_yr": seen.decline_percent_a_year.median,
        "outlook_json": outlook_of(surface, outcome).to_json(),
    }


def outlook_of(surface: Surface, outcome: Outcome) -> ForecastOutlook:
    """Curves, checks, gains and options of a forecast, by day."""
    seen = outcome.seen
    return ForecastOutlook(
        rate_now_mm_h=Range(*seen.rate_now_mm_h),
        decline_percent_a_year=Range(*seen.decline_percent_a_year),
        decline_percentile=seen.decline_percentile,
        past=_curve(surface, seen.past),
        future=_curve(surface, seen.future),
        below=tuple(round(float(p), 5) for p in seen.p_below),
        rounds=tuple(_round(surface, check) for check in seen.rounds),
        gains=tuple(_gain(surface, gain) for gain in seen.gains),
        options=tuple(outcome.options),
        options_on=day_at(surface, _cleaning_time(seen, outcome.status, surface)),
    )


def _curve(surface: Surface, curve: api.Curve) -> RateCurve:
    """To five digits, which is more than is known and half of what is stored."""
    rates = (tuple(float(f"{rate:.5g}") for rate in line) for line in curve[1:])
    return RateCurve(tuple(day_at(surface, float(t)) for t in curve.t_yr), *rates)


def _round(surface: Surface, check: api.RoundCheck) -> RoundAgainstForecast:
    return RoundAgainstForecast(
        on=day_at(surface, check.t_yr),
        tests=check.n_tests,
        measured_mm_h=check.measured_mm_h,
        expected_mm_h=Range(*check.expected_mm_h),
        pit_lo=check.pit_lo,
        pit_hi=check.pit_hi,
    )


def _gain(surface: Surface, gain: api.CleaningGain) -> GainOfCleaning:
    return GainOfCleaning(
        on=day_at(surface, gain.t_yr),
        method=CleaningMethod(gain.method),
        measured_factor=gain.measured_factor,
        factor=Range(*gain.factor),
    )
