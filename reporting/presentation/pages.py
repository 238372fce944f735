"""What the templates of this app need besides a snapshot: its drawings and charts in the reader's units."""

from dataclasses import dataclass
from typing import Any

from qa.presentation.section import Picture
from reporting.calc.handover import HandoverSnapshot
from reporting.calc.parts import ForecastPart
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot, SiteSnapshot, SurfaceSnapshot
from reporting.calc.plain_words import site_sentence, surface_sentence
from reporting.presentation.done import done_sentences
from reporting.presentation.handover import handover_words
from reporting.presentation.pictures import chart_of, plan_of_spots, section_of
from reporting.presentation.sources import unverified_words
from reporting.presentation.words import worded


@dataclass(frozen=True, slots=True)
class ReportedPart:
    """A surface of a report with its drawing and, where there is a forecast, its chart."""

    content: ReportedSurface
    drawing: Picture
    chart: dict[str, Any] | None


def surface_page(snapshot: SurfaceSnapshot, units: str) -> dict[str, Any]:
    """What the page of a surface shows."""
    key = snapshot.standing.key
    standing = snapshot.standing
    plan = plan_of_spots(
        snapshot.plan, snapshot.spots, units, name=standing.name, area_m2=standing.area_m2, key=key
    )
    return {
        "page": snapshot,
        **unverified_words(snapshot),
        "drawing": section_of(snapshot.build_up, units, key),
        "plan": plan,
        "chart": _chart(snapshot.forecast, units),
        "sentence": surface_sentence(snapshot.standing),
        "done": done_sentences(snapshot.record),
    }


def site_page(snapshot: SiteSnapshot, units: str) -> dict[str, Any]:
    """What the page of a site shows."""
    return {
        "page": snapshot,
        "sentence": site_sentence(snapshot.surfaces, snapshot.visits[0].on if snapshot.visits else None),
        "plan": worded(snapshot.plan, units),
        "trainings": worded(snapshot.trainings, units),
    }


def report_page(snapshot: ReportSnapshot, units: str) -> dict[str, Any]:
    """What a report shows."""
    parts = [_reported(surface, units) for surface in snapshot.surfaces]
    return {"report": snapshot, "parts": parts, **unverified_words(snapshot)}


def handover_page(snapshot: HandoverSnapshot, units: str) -> dict[str, Any]:
    """What the page of a handover record shows."""
    drawing = section_of(snapshot.build_up, units, snapshot.key)
    return {"record": handover_words(snapshot, units), "drawing": drawing}


def _reported(surface: ReportedSurface, units: str) -> ReportedPart:
    drawing = section_of(surface.build_up, units, surface.standing.key)
    return ReportedPart(surface, drawing, _chart(surface.forecast, units))


def _chart(forecast: ForecastPart | None, units: str) -> dict[str, Any] | None:
    return chart_of(forecast.decline, units) if forecast and forecast.decline else None
