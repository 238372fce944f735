"""What the templates of this app need besides a snapshot: its drawings and charts in the reader's units."""

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator

from reporting.calc.handover import HandoverSnapshot
from reporting.calc.parts import ForecastPart, RecordLine
from reporting.calc.plain_words import surface_sentence
from reporting.calc.snapshots import (
    ReportedSurface,
    ReportSnapshot,
    SiteSnapshot,
    StartSnapshot,
    SurfaceSnapshot,
)
from reporting.calc.verdict import site_sentence
from reporting.presentation.done import done_sentences
from reporting.presentation.drawing_files import DrawingFile, drawing_files
from reporting.presentation.handover import handover_words
from reporting.presentation.pictures import chart_of, plan_of, section_of
from reporting.presentation.report import report_words
from reporting.presentation.report_front import stands_of
from reporting.presentation.report_surface import stands_below
from reporting.presentation.sources import unverified_words
from reporting.presentation.standing_svg import standing_svg
from reporting.presentation.words import worded
from reporting.presentation.worked import worked_forecast, worked_gain

ADVICE_A_PAGE = 30


@dataclass(frozen=True, slots=True)
class ReportedPart:
    """A surface of a report with its text, and where its drawings are found, by kind.

    others: of its record what is neither a round nor a cleaning that counts, which are told by themselves.
    """

    content: ReportedSurface
    words: dict[str, Any]
    drawings: dict[str, DrawingFile]
    others: tuple[RecordLine, ...]


def start_page(snapshot: StartSnapshot, coming: str | int | None = None) -> dict[str, Any]:
    """What the first page of an owner's people shows. coming: which page of what comes next."""
    return {"page": snapshot, "coming": Paginator(snapshot.advice, ADVICE_A_PAGE).get_page(coming)}


def surface_page(snapshot: SurfaceSnapshot, units: str) -> dict[str, Any]:
    """What the page of a surface shows."""
    key = snapshot.standing.key
    return {
        "page": snapshot,
        **unverified_words(snapshot),
        "drawing": section_of(snapshot.build_up, units, key),
        "plan": plan_of(snapshot, units),
        "chart": _chart(snapshot.forecast, units),
        "sentence": surface_sentence(snapshot.standing),
        "done": done_sentences(snapshot.record),
        "worked": worked_forecast(snapshot.forecast, units),
        "gain_worked": worked_gain(snapshot.record, snapshot.forecast, units),
    }


def site_page(snapshot: SiteSnapshot, units: str) -> dict[str, Any]:
    """What the page of a site shows."""
    return {
        "page": snapshot,
        "sentence": site_sentence(
            snapshot.surfaces, next_visit_on=snapshot.visits[0].on if snapshot.visits else None
        ),
        "plan": worded(snapshot.plan, units),
        "trainings": worded(snapshot.trainings, units),
    }


def report_page(snapshot: ReportSnapshot, units: str) -> dict[str, Any]:
    """What a report shows."""
    words = report_words(snapshot, units)
    drawn = zip(snapshot.surfaces, words["surfaces"], strict=True)
    return {
        "report": snapshot,
        "words": words,
        "stands": standing_svg(stands_of(snapshot), units, for_paper=False),
        "parts": [_reported(surface, said, units) for surface, said in drawn],
    }


def handover_page(snapshot: HandoverSnapshot, units: str) -> dict[str, Any]:
    """What the page of a handover record shows."""
    drawing = section_of(snapshot.build_up, units, snapshot.key)
    return {"record": handover_words(snapshot, units), "drawing": drawing}


def _reported(surface: ReportedSurface, words: dict[str, Any], units: str) -> ReportedPart:
    return ReportedPart(
        content=surface,
        words=words,
        drawings=drawing_files(surface, words, units),
        others=tuple(line for line in surface.record if stands_below(line, surface)),
    )


def _chart(forecast: ForecastPart | None, units: str) -> dict[str, Any] | None:
    return chart_of(forecast.decline, units) if forecast and forecast.decline else None
