"""Forecasts in sentences that a client can read. The figures say the same."""

from core.calc.format import counted, day, format_rate, percent, whole
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
    return (
        f"The surface opens on {day(surface.opened_on)}. It is then expected to take in {middle}; "
        f"with a chance of 80 % it is between {low} and {high}. "
        f"The chance that it opens below its limit of {limit} is {percent(forecast.share_below_now)}."
    )


def _now(outlook: ForecastOutlook, units: str) -> str:
    middle, low, high = _rates(outlook, units)
    return (
        f"The surface is estimated to take in {middle} today; "
        f"with a chance of 80 % it is between {low} and {high}."
    )


def _rates(outlook: ForecastOutlook, units: str) -> list[str]:
    """Median and both ends of the 80 % range, with their unit."""
    rate = outlook.rate_now_mm_h
    return [format_rate(value, units) for value in (rate.median, rate.lo80, rate.hi80)]


def _below(surface: Surface, forecast: Forecast, units: str) -> str:
    limit = format_rate(surface.limit_mm_h, units)
    return f"The chance that it is below its limit of {limit} today is {percent(forecast.share_below_now)}."


def _when(forecast: Forecast) -> str:
    start = forecast.made_on
    if forecast.below_50_on is None:
        if forecast.below_10_on is None:
            return "If nothing is done, it is not expected to come near the limit within ten years."
        return (
            f"If nothing is done, the chance reaches 10 % by {day(forecast.below_10_on)}, "
            "but not one half within ten years."
        )
    if start and forecast.below_50_on <= start:
        if (forecast.share_below_now or 0.0) >= SURE_SHARE:
            return "It is already below its limit."
        return "It is probably below its limit already."
    late = day(forecast.below_90_on) if forecast.below_90_on else "more than ten years from now"
    early = (
        "today"
        if start and forecast.below_10_on and forecast.below_10_on <= start
        else day(forecast.below_10_on)
    )
    return (
        f"If nothing is done, it reaches the limit between {early} (10 % chance) and {late} (90 % chance), "
        f"most likely by {day(forecast.below_50_on)}."
    )


def chart_title(surface: Surface) -> str:
    """What the chart of the decline shows: a surface that is not open yet has no past."""
    return "Rate to expect once it opens" if surface.opens_later else "Rate since opening"


CAUSES = {
    "run_on_ratio": "other ground drains onto it",
    "bare_soil": "bare soil or planting drains onto it",
    "trees": "trees stand over it",
    "winter_grit": "grit is spread on it in winter",
    "traffic": "vehicles wear it",
}


def kind_sentence(forecast: Forecast, outlook: ForecastOutlook) -> str:
    """How fast it declines, what is recorded that explains it, how it stands against similar surfaces.

    And what it would give to stop the sediment, where something says that it keeps coming; no unit of choice in it.
    """
    decline = outlook.decline_percent_a_year
    about = (
        f"about {whole(decline.median)} % of {{whose}} rate a year "
        f"(80 % range {whole(decline.lo80)} to {whole(decline.hi80)} %)."
    )
    if forecast.surface_state == SurfaceState.NOT_TESTED:
        return "Surfaces of its kind lose " + about.format(whose="their") + " Its own tests are to come."
    worth = speak(worth_sentence(outlook.source_worth), UnitSystem.SI) if outlook.source_worth else ""
    said = ("It loses " + about.format(whose="its"), _causes(outlook), _place(outlook), worth)
    return " ".join(part for part in said if part)


def _causes(outlook: ForecastOutlook) -> str:
    """The recorded causes, and that a source was stopped since."""
    known = [_cause(cause) for cause in outlook.recorded_causes if cause.added_percent_a_year.median >= 0.5]
    said = f"Recorded causes: {'; '.join(known)}." if known else ""
    if outlook.source_stopped_on is None:
        return said
    return f"{said} A source was stopped on {day(outlook.source_stopped_on)}.".strip()


def _cause(cause: CauseOfDecline) -> str:
    added = whole(cause.added_percent_a_year.median)
    return f"{CAUSES[cause.condition]} (adds about {added} % a year)"


def _place(outlook: ForecastOutlook) -> str:
    """Against surfaces on which nothing is recorded where there is a cause: it must not explain itself away."""
    if outlook.recorded_causes and outlook.decline_percentile_plain is not None:
        place, without = outlook.decline_percentile_plain, " without the condition"
        if len(outlook.recorded_causes) > 1:
            without += "s"
    else:
        place, without = outlook.decline_percentile, ""
    if place > FAST:
        return f"It clogs faster than {percent(place)} of similar surfaces{without}. {WHERE_TO_LOOK}"
    if place < 1 - FAST:
        return f"It clogs more slowly than nine in ten similar surfaces{without}."
    if without:
        return f"It clogs faster than {percent(place)} of similar surfaces{without}."
    return "That is ordinary for its kind."


def fit_sentence(fit: PortfolioFit | None) -> str:
    """How far the learning from a firm's records is, or how it ended."""
    if fit is None:
        return (
            "The model has not been updated from your records yet. That happens every night, and on request."
        )
    if fit.state == JobState.RUNNING and fit.progress_total:
        step = f"step {fit.progress_done + 1} of {fit.progress_total}, {fit.progress_word}"
        return f"The model is learning from your records: {step}. Then every forecast is updated."
    if fit.is_unfinished:
        return f"{fit.error} The model will soon learn from your records.".strip()
    if fit.state == JobState.FAILED:
        return f"The model could not learn from your records. {fit.error}"
    learnt = f"{counted(fit.tests, 'test')} on {counted(fit.surfaces, 'surface')}"
    return f"The model has learnt from your records: {learnt}."
