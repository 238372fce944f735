"""Keeps each surface's forecast and advice in step with its record and with the firm's fit.

What is to be made anew is told by the rows alone (`ForecastQuerySet.wanted`): `Surface.record_version` rises with the
record, and a fit comes to its end. A task is only a nudge, and the sweep finds what was left.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Case, F, OuterRef, Subquery, Value, When
from django.utils.timezone import now

from clogging import api
from core.calc.jobs import JobState
from core.calc.paving import CleaningMethod, SourceChange
from core.errors import UnusableRecordError
from core.services import jobs
from maintenance.calc.actions import (
    LIKELY_SHARE,
    STAY_MONTHS,
    WATCH_SHARE,
    Option,
    SurfaceStatus,
    state_of,
)
from maintenance.calc.advising import Considered, advice_from
from maintenance.calc.costs import Terms, cleaning_cost, cost_per_year, hours_needed
from maintenance.calc.forecast_payload import (
    CauseOfDecline,
    ForecastOutlook,
    GainOfCleaning,
    Range,
    RateCurve,
    RoundAgainstForecast,
    SourceWorth,
)
from maintenance.calc.night_payload import Reckoned
from maintenance.calc.sediment import SedimentSigns
from maintenance.calc.suitability import suited_methods
from maintenance.calc.vocabulary import ForecastBasis, SurfaceState
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.care import Care, Day, care_of, climate_of
from maintenance.selectors.fits import FitAtHand
from maintenance.selectors.histories import Recorded, date_of, day_at, years_of
from maintenance.services import fits, recommendations
from maintenance.services.commitments import commitments
from maintenance.services.forecast_inputs import Known, gather
from maintenance.services.limit_notices import is_news, tell_limit
from maintenance.services.nights import carry_on
from qa.models import Surface

HORIZON_YR = 10.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """One surface thought through."""

    status: SurfaceStatus
    seen: api.SurfaceForecast
    rounds: Sequence[api.RoundCheck]
    options: Sequence[Option]
    fit: FitAtHand
    signs: SedimentSigns
    source_worth: SourceWorth | None
    care: Care
    hours: Mapping[CleaningMethod, float]
    basis: str

    @property
    def considered(self) -> Considered:
        """What its advice is given from."""
        return Considered(
            self.status, self.care.needs, self.options, self.signs, self.source_worth, self.hours
        )


def request_forecast(surface_id: UUID) -> None:
    """Have the forecast of a surface made whose record has changed: at once in this process, or by a worker.

    Whoever is at it goes on, and finds at the end that it was asked for once more.
    """
    forecast, is_new = Forecast.objects.defer(*Forecast.bulky()).get_or_create(surface_id=surface_id)
    if not is_new:
        goes_on = When(state=JobState.RUNNING, then=F("state"))
        state = Case(goes_on, default=Value(JobState.WAITING.value))
        # What failed with the old record may do with the new one.
        Forecast.objects.filter(pk=forecast.pk).update(state=state, attempts=0, wanted_since=now())
    jobs.nudge(forecast)


def force_refresh(*, surface: Surface) -> None:
    """Make a surface's forecast anew even though its record has not changed."""
    forecast, _ = Forecast.objects.defer(*Forecast.bulky()).get_or_create(surface=surface)
    rows = Forecast.objects.filter(pk=forecast.pk)
    rows.update(reckoned_json=None)  # so that nothing of it is taken for still good
    jobs.requeue(rows)
    jobs.nudge(forecast)


def start_night(night: date) -> int:
    """Ask for the night's fit of every firm; when it ends, each forecast of the firm is made once, with it.

    What failed too often by day is tried afresh. Begun twice, a night does nothing more. Returns how many fits.
    """
    _allow_new_attempts()
    return fits.request_nightly_fits(night)


def _allow_new_attempts(**of: Any) -> None:
    Forecast.objects.filter(attempts__gte=Forecast.MOST_ATTEMPTS, **of).update(attempts=0)


def add_missing() -> None:
    """Give every surface in service a forecast to be made, where the nudge of its first record was lost."""
    without = Surface.objects.in_service().filter(forecast=None)
    Forecast.objects.bulk_create([Forecast(surface=surface) for surface in without], ignore_conflicts=True)


def refresh(surface_id: UUID | str) -> jobs.Outcome:
    """Make one surface's forecast and advice anew, if it is to be made and nobody is at it."""
    if not Surface.objects.filter(pk=surface_id).exists():
        return jobs.Outcome.GONE
    forecast, _ = Forecast.objects.defer(*Forecast.bulky()).get_or_create(surface_id=surface_id)
    return jobs.run(Forecast._meta.label, forecast.pk)


@jobs.works_on(
    Forecast,
    before_sweep=add_missing,
    gather=gather,
    shared_by="surface__site__organisation",
    quick=carry_on,
)
def make_forecast(forecast: Forecast, claim: jobs.Claim, known: Known) -> None:
    """Work out forecast and advice and store both; a record that refuses says why instead."""
    try:
        outcome = compute_forecast(known)
    except UnusableRecordError as error:  # the page says how
        claim.fail(str(error), **known.made_from)
    else:
        _store(claim, known, outcome)
        _replace_outdated(outcome.fit)
    _again_if_outdated(forecast, known.made_from)


def _again_if_outdated(forecast: Forecast, made_from: dict[str, Any]) -> None:
    """What changed while it was worked on is in one made once more, unless somebody asked for that already."""
    version, newest_fit = _ground_of(forecast.surface_id)
    if version > made_from["made_from_version"] or newest_fit != made_from["after_fit_id"]:
        ended = Forecast.objects.filter(pk=forecast.pk, state__in=(JobState.DONE, JobState.FAILED))
        if jobs.requeue(ended.wanted()):
            jobs.nudge(forecast)


def _ground_of(surface_id: UUID) -> tuple[int, UUID | None]:
    """The version of a record now, and the fit of its firm that ended last."""
    fits = PortfolioFit.objects.filter(organisation=OuterRef("site__organisation")).ended()
    newest = Subquery(fits.order_by("-finished_at").values("pk")[:1])
    row = Surface.objects.filter(pk=surface_id).values_list("record_version", newest).first()
    return row or (0, None)


@transaction.atomic
def _store(claim: jobs.Claim, known: Known, outcome: Outcome) -> None:
    """Forecast and advice together or not at all; only the holder of the claim may write."""
    surface, before = known.surface, claim.job
    claim.finish(**known.made_from, **columns(surface, outcome))
    assert isinstance(before, Forecast)  # such jobs alone are claimed here
    _tell_limit(surface, before, outcome)
    pieces = advice_from(outcome.considered) if surface.removed_on is None else []
    recommendations.sync_recommendations(surface=surface, advice=pieces, entries=known.history().entries)


def _tell_limit(surface: Surface, before: Forecast, outcome: Outcome) -> None:
    """Not at the first forecast: whoever takes in many surfaces looks at their list, and is not told of each."""
    state, stood = state_of(outcome.status), SurfaceState(before.surface_state)
    if before.made_on and surface.removed_on is None and is_news(stood, state):
        tell_limit(surface=surface, state=state, chance=outcome.status.share_below_now)


def _replace_outdated(fit: FitAtHand) -> None:
    if fit.rests_on is ForecastBasis.OUTDATED and fit.row is not None:
        fits.replace_outdated_fit(outdated=fit.row)


def compute_forecast(known: Known) -> Outcome:
    """Forecast, status and options of one surface. Raises UnusableRecordError for a record that cannot be."""
    recorded, fit, surface, terms = known.history(), known.fit, known.surface, known.terms
    today: date = known.made_from["made_on"]
    seen = api.forecast_surface(
        recorded.history,
        fit.parameters,
        now_yr=_now_yr(recorded, today),
        limit_mm_h=surface.limit_mm_h,
        horizon_yr=HORIZON_YR,
    )
    status = _status(recorded, seen, today)
    options = _options(recorded, fit.parameters, seen, status, terms)
    signs = _signs(known, seen, status, recorded)
    worth = _source_worth(recorded, fit.parameters, seen) if signs.reasons else None
    day = Day(today, seen.now_yr, status.last_tested_on, status.agreed, bool(signs.reasons))
    care = care_of(recorded, fit.parameters, terms, day)
    hours = {method: hours_needed(each, surface.area_m2) for method, each in terms.items()}
    rounds = _rounds(recorded, seen, fit)
    return Outcome(status, seen, rounds, options, fit, signs, worth, care, hours, known.basis)


def _rounds(recorded: Recorded, seen: api.SurfaceForecast, fit: FitAtHand) -> Sequence[api.RoundCheck]:
    """Rounds against what was expected before them; a fit that has just learned from them cannot be surprised."""
    if fit.made_on_the_spot:
        return api.rounds_in_forecasts(recorded.history, api.prior_fit())
    return seen.rounds


def _now_yr(recorded: Recorded, today: date) -> float:
    last = recorded.history.events[-1].t_yr if recorded.history.events else 0.0
    return max(years_of(recorded.surface, today), last)


def _status(recorded: Recorded, seen: api.SurfaceForecast, today: date) -> SurfaceStatus:
    surface = recorded.surface
    agreed = commitments().agreed_care(surface)
    return SurfaceStatus(
        today=today,
        opened_on=surface.opened_on,
        limit_mm_h=surface.limit_mm_h,
        rate_now_mm_h=seen.rate_now_mm_h.median,
        share_below_now=seen.p_below_now,
        below_10_on=date_of(surface, seen.first_reach_yr(WATCH_SHARE)),
        below_50_on=date_of(surface, seen.first_reach_yr(LIKELY_SHARE)),
        last_tested_on=_last_day(recorded, api.RoundEvent),
        last_cleaned_on=_last_day(recorded, api.CleaningEvent),
        agreed=agreed,
        climate=climate_of(surface),
    )


def _signs(
    known: Known, seen: api.SurfaceForecast, status: SurfaceStatus, recorded: Recorded
) -> SedimentSigns:
    surface, finding = known.surface, known.sediment
    changes = [event for event in recorded.history.events if isinstance(event, api.SourceEvent)]
    last = changes[-1] if changes else None
    on = day_at(surface, last.t_yr) if last else None
    stopped = last is not None and last.kind == SourceChange.STOPPED
    return SedimentSigns(
        bare_soil=surface.bare_soil,
        run_on=surface.run_on_ratio > 0,
        found_on=finding.inspection.inspected_on if finding else None,
        faster_than=seen.decline_percentile_plain if status.last_tested_on else None,
        stopped_on=on if stopped else None,
        started_on=None if stopped else on,
    )


def _source_worth(recorded: Recorded, fit: api.PortfolioFit, seen: api.SurfaceForecast) -> SourceWorth:
    """What it would give to stop the source on the day of the forecast."""
    surface = recorded.surface
    outlook = api.after_source_change(
        recorded.history,
        fit,
        at_yr=seen.now_yr,
        kind=SourceChange.STOPPED,
        limit_mm_h=surface.limit_mm_h,
        horizon_yr=HORIZON_YR,
    )
    without, kept = outlook.without, outlook.with_change
    return SourceWorth(
        loss_without=Range(*without.decline_percent_a_year),
        loss_with=Range(*kept.decline_percent_a_year),
        below_50_without=date_of(surface, without.t_p50_yr),
        below_50_with=date_of(surface, kept.t_p50_yr),
    )


def _last_day(recorded: Recorded, kind: type) -> date | None:
    times = [event.t_yr for event in recorded.history.events if isinstance(event, kind)]
    return date_of(recorded.surface, times[-1]) if times else None


def _options(
    recorded: Recorded,
    fit: api.PortfolioFit,
    seen: api.SurfaceForecast,
    status: SurfaceStatus,
    terms: dict[CleaningMethod, Terms],
) -> list[Option]:
    surface = recorded.surface
    methods = [method for method in suited_methods(surface.surface_type) if method in terms]
    outlooks = api.after_cleanings(
        recorded.history,
        fit,
        at_yr=_cleaning_time(seen, status, surface),
        methods=methods,
        limit_mm_h=surface.limit_mm_h,
        horizon_yr=HORIZON_YR,
        stay_yr=STAY_MONTHS / 12.0,
    )
    options = []
    for method, outlook in zip(methods, outlooks, strict=True):
        cost = cleaning_cost(terms[method], surface.area_m2)
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
    due = status.below_50_on
    wanted = seen.now_yr if due is None else years_of(surface, due)
    return min(max(wanted, seen.now_yr), seen.now_yr + 1.0)


def columns(surface: Surface, outcome: Outcome) -> dict[str, Any]:
    """What is stored of a forecast."""
    seen = outcome.seen
    return {
        "rests_on": outcome.fit.rests_on,
        "surface_state": state_of(outcome.status),
        "rate_now_mm_h": seen.rate_now_mm_h.median,
        "rate_low_mm_h": seen.rate_now_mm_h.lo80,
        "rate_high_mm_h": seen.rate_now_mm_h.hi80,
        "share_below_now": seen.p_below_now,
        "below_10_on": date_of(surface, seen.first_reach_yr(0.10)),
        "below_50_on": date_of(surface, seen.first_reach_yr(0.50)),
        "below_90_on": date_of(surface, seen.first_reach_yr(0.90)),
        "decline_percent_yr": seen.decline_percent_a_year.median,
        "decline_percentile": seen.decline_percentile,
        "pits_json": [check.pit_lo for check in outcome.rounds if check.pit_lo == check.pit_hi],
        "outlook_json": outlook_of(surface, outcome).to_json(),
        "reckoned_json": _reckoned(outcome).to_json(),
    }


def _reckoned(outcome: Outcome) -> Reckoned:
    """What the nights after need to give the advice of their day."""
    status = outcome.status
    return Reckoned(
        basis=outcome.basis,
        on=status.today,
        needs=outcome.care.needs,
        signs=outcome.signs,
        hours=dict(outcome.hours),
        last_tested_on=status.last_tested_on,
        last_cleaned_on=status.last_cleaned_on,
    )


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
        rounds=tuple(_round(surface, check) for check in outcome.rounds),
        gains=tuple(_gain(surface, gain) for gain in seen.gains),
        options=tuple(outcome.options),
        options_on=day_at(surface, _cleaning_time(seen, outcome.status, surface)),
        decline_percentile_plain=seen.decline_percentile_plain,
        recorded_causes=tuple(_cause(cause) for cause in seen.recorded_causes),
        source_stopped_on=outcome.signs.stopped_on,
        source_worth=outcome.source_worth,
        care=outcome.care.comparison,
        care_on=outcome.status.today,
    )


def _cause(cause: api.RecordedCause) -> CauseOfDecline:
    return CauseOfDecline(cause.condition, Range(*cause.added_percent_a_year), cause.percentile_without)


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
