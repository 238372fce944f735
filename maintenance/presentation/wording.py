"""Forecasts in sentences that a client can read. The figures say the same."""

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import counted, day, format_rate, moment, percent, whole
from core.calc.jobs import JobState
from core.calc.units import UnitSystem
from maintenance.calc.actions import SURE_SHARE
from maintenance.calc.forecast_payload import CauseOfDecline, ForecastOutlook
from maintenance.calc.sediment import FAST, WHERE_TO_LOOK, worth_sentence
from maintenance.calc.text import speak
from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import Forecast, PortfolioFit
from qa.models import Surface


def forecast_sentence(surface: Surface, forecast: Forecast, outlook: ForecastOutlook, units: str) -> str:
    """Where the surface stands, how sure that is, and when it reaches its limit; what to expect before it opens."""
    if forecast.made_on and surface.opened_on > forecast.made_on:
        return " ".join((_on_opening(surface, forecast, outlook, units), _when(forecast)))
    return " ".join((_now(outlook, units), _below(surface, forecast, units), _when(forecast)))


def _on_opening(surface: Surface, forecast: Forecast, outlook: ForecastOutlook, units: str) -> str:
    middle, low, high = _rates(outlook, units)
    limit = format_rate(surface.limit_mm_h, units)
    return _(
        "The surface opens on {day}. It is then expected to take in {middle}; with a chance of 80 % it is between "
        "{low} and {high}. The chance that it opens below its limit of {limit} is {chance}."
    ).format(
        day=day(surface.opened_on),
        middle=middle,
        low=low,
        high=high,
        limit=limit,
        chance=percent(forecast.share_below_now),
    )


def _now(outlook: ForecastOutlook, units: str) -> str:
    middle, low, high = _rates(outlook, units)
    said = _(
        "The surface is estimated to take in {middle} today; with a chance of 80 % it is between {low} and {high}."
    )
    return said.format(middle=middle, low=low, high=high)


def _rates(outlook: ForecastOutlook, units: str) -> list[str]:
    """Median and both ends of the 80 % range, with their unit."""
    rate = outlook.rate_now_mm_h
    return [format_rate(value, units) for value in (rate.median, rate.lo80, rate.hi80)]


def _below(surface: Surface, forecast: Forecast, units: str) -> str:
    said = _("The chance that it is below its limit of {limit} today is {chance}.")
    return said.format(limit=format_rate(surface.limit_mm_h, units), chance=percent(forecast.share_below_now))


def _when(forecast: Forecast) -> str:
    start = forecast.made_on
    if forecast.below_50_on is None:
        if forecast.below_10_on is None:
            return _("If nothing is done, it is not expected to come near the limit within ten years.")
        return _(
            "If nothing is done, the chance reaches 10 % by {day}, but not one half within ten years."
        ).format(day=day(forecast.below_10_on))
    if start and forecast.below_50_on <= start:
        if (forecast.share_below_now or 0.0) >= SURE_SHARE:
            return _("It is already below its limit.")
        return _("It is probably below its limit already.")
    return _reached(forecast)


def _reached(forecast: Forecast) -> str:
    """Between which days it reaches the limit."""
    start, first = forecast.made_on, forecast.below_10_on
    is_there = bool(start and first and first <= start)
    # Translators: stands after "between ... and".
    late = day(forecast.below_90_on) if forecast.below_90_on else _("more than ten years from now")
    early = _("today") if is_there else day(first)
    return _(
        "If nothing is done, it reaches the limit between {early} (10 % chance) and {late} (90 % chance), "
        "most likely by {day}."
    ).format(early=early, late=late, day=day(forecast.below_50_on))


def chart_title(surface: Surface) -> str:
    """What the chart of the decline shows: a surface that is not open yet has no past."""
    return _("Rate to expect once it opens") if surface.opens_later else _("Rate since opening")


CAUSES = {
    "run_on_ratio": gettext_noop("other ground drains onto it"),
    "bare_soil": gettext_noop("bare soil or planting drains onto it"),
    "trees": gettext_noop("trees stand over it"),
    "winter_grit": gettext_noop("grit is spread on it in winter"),
    "traffic": gettext_noop("vehicles wear it"),
}


def kind_sentence(forecast: Forecast, outlook: ForecastOutlook) -> str:
    """How fast it declines, what is recorded that explains it, how it stands against similar surfaces.

    And what it would give to stop the sediment, where something says that it keeps coming; no unit of choice in it.
    """
    decline = outlook.decline_percent_a_year
    shares = {"middle": whole(decline.median), "low": whole(decline.lo80), "high": whole(decline.hi80)}
    if forecast.surface_state == SurfaceState.NOT_TESTED:
        return _(
            "Surfaces of its kind lose about {middle} % of their rate a year (80 % range {low} to {high} %). Its own "
            "tests are to come."
        ).format(**shares)
    loses = _("It loses about {middle} % of its rate a year (80 % range {low} to {high} %).").format(**shares)
    worth = speak(worth_sentence(outlook.source_worth), UnitSystem.SI) if outlook.source_worth else ""
    said = (loses, _causes(outlook), _place(outlook), worth)
    return " ".join(part for part in said if part)


def _causes(outlook: ForecastOutlook) -> str:
    """The recorded causes, and that a source was stopped since."""
    known = [_cause(cause) for cause in outlook.recorded_causes if cause.added_percent_a_year.median >= 0.5]
    said = _("Recorded causes: {causes}.").format(causes="; ".join(known)) if known else ""
    if outlook.source_stopped_on is None:
        return said
    stopped = _("A source was stopped on {day}.").format(day=day(outlook.source_stopped_on))
    return " ".join(filter(None, (said, stopped)))


def _cause(cause: CauseOfDecline) -> str:
    said = _("{cause} (adds about {added} % a year)")
    return said.format(cause=_(CAUSES[cause.condition]), added=whole(cause.added_percent_a_year.median))


def _place(outlook: ForecastOutlook) -> str:
    """Against surfaces on which nothing is recorded where there is a cause: it must not explain itself away."""
    if outlook.recorded_causes and outlook.decline_percentile_plain is not None:
        return _place_without(outlook.decline_percentile_plain, len(outlook.recorded_causes))
    place = outlook.decline_percentile
    if place > FAST:
        faster = _("It clogs faster than {share} of similar surfaces.").format(share=percent(place))
        return f"{faster} {_(WHERE_TO_LOOK)}"
    if place < 1 - FAST:
        return _("It clogs more slowly than nine in ten similar surfaces.")
    return _("That is ordinary for its kind.")


def _place_without(place: float, conditions: int) -> str:
    """Against similar surfaces without the recorded conditions."""
    if place < 1 - FAST:
        return ngettext(
            "It clogs more slowly than nine in ten similar surfaces without the condition.",
            "It clogs more slowly than nine in ten similar surfaces without the conditions.",
            conditions,
        )
    faster = ngettext(
        "It clogs faster than {share} of similar surfaces without the condition.",
        "It clogs faster than {share} of similar surfaces without the conditions.",
        conditions,
    ).format(share=percent(place))
    return f"{faster} {_(WHERE_TO_LOOK)}" if place > FAST else faster


def fit_sentence(fit: PortfolioFit | None) -> str:
    """How far the learning from a firm's records is, or how it ended."""
    if fit is None:
        return _(
            "The model has not been updated from your records yet. That happens every night, and on request."
        )
    if fit.state == JobState.RUNNING and fit.progress_total:
        return _(
            "The model is learning from your records: step {step} of {total}, {word}. Then every forecast is updated."
        ).format(step=fit.progress_done + 1, total=fit.progress_total, word=fit.progress_word)
    why = _(fit.error) if fit.error else ""
    if fit.is_unfinished:
        return f"{why} {_('The model will soon learn from your records.')}".strip()
    if fit.state == JobState.FAILED:
        return f"{_('The model could not learn from your records.')} {why}"
    said = _("The model has learnt from your records: {tests} on {surfaces}.").format(
        tests=counted(fit.tests, "test"), surfaces=counted(fit.surfaces, "surface")
    )
    return f"{said} {_learnt(fit.fitted_at)}" if fit.fitted_at else said


def _learnt(at: datetime) -> str:
    return _(
        "That was on {moment}. It learns again in a night once more than a twentieth as much is new, and after a month "
        "where anything is."
    ).format(moment=moment(at))
