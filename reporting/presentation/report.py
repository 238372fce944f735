"""The report of a site as text, and as a paper."""

from collections.abc import Mapping
from typing import Any

from core.calc.format import day
from core.presentation.svg import size_of
from reporting.calc.snapshots import ReportedSurface, ReportSnapshot
from reporting.presentation.decline_svg import decline_svg
from reporting.presentation.pdf import Paper
from reporting.presentation.pictures import plan_of, section_of
from reporting.presentation.report_front import front_words, stands_of
from reporting.presentation.report_surface import TONES, surface_words
from reporting.presentation.sources import unverified_words
from reporting.presentation.standing_svg import standing_svg
from reporting.presentation.words import worded


def report_words(snapshot: ReportSnapshot, units: str) -> dict[str, Any]:
    """What the report says, in the reader's units, as its page and its paper take it."""
    return {
        "units": units,
        "site": snapshot.site,
        "address": snapshot.address,
        "owner": snapshot.owner,
        "firm": snapshot.firm,
        "since": day(snapshot.since),
        "made_on": day(snapshot.made_on),
        "states": [
            {"count": group.count, "word": group.state.label, "tone": TONES[group.state]}
            for group in snapshot.states
        ],
        **front_words(snapshot, units),
        "surfaces": [surface_words(surface, snapshot, units) for surface in snapshot.surfaces],
        "water_how": _water_how(snapshot, units),
        "methods": worded(snapshot.methods, units),
        **unverified_words(snapshot),
        "cautions": list(snapshot.cautions),
        "demo_notice": snapshot.demo_notice,
    }


def _water_how(snapshot: ReportSnapshot, units: str) -> list[str]:
    """How water was estimated, each sentence once, whatever surface it was said of."""
    parts = [surface.water for surface in snapshot.surfaces if surface.water]
    return list(dict.fromkeys(said.in_units(units) for part in parts for said in part.how))


def report_paper(
    snapshot: ReportSnapshot, words: Mapping[str, Any], photos: Mapping[str, bytes] | None = None
) -> Paper:
    """The report as a paper, in the units of its words. photos: small pictures by key, those that may be shown."""
    made = snapshot.made_on
    stands = standing_svg(stands_of(snapshot), words["units"], for_paper=True)
    drawings = {"stands": stands} if stands else {}
    for number, surface in enumerate(snapshot.surfaces):
        drawings |= _drawings(surface, words["units"], number)
    data = dict(words) | {
        "made": [made.year, made.month, made.day],
        "pictures": sorted(photos or {}),
        "drawn": {name: _share(svg) for name, svg in drawings.items()},
    }
    return Paper("report.typ", data, drawings, photos or {})


def _share(svg: str) -> float:
    """Height of a drawing over its width, so that a paper can lay drawings side by side at one height."""
    width, height = size_of(svg)
    return height / width


def _drawings(surface: ReportedSurface, units: str, number: int) -> dict[str, str]:
    standing, forecast = surface.standing, surface.forecast
    found = {
        f"section-{number}": section_of(
            surface.build_up, units, standing.key, for_paper=True, light=True
        ).svg,
        f"plan-{number}": plan_of(surface, units, for_paper=True).svg,
    }
    if forecast and forecast.decline:
        found[f"decline-{number}"] = decline_svg(forecast.decline.record, units, for_paper=True)
    return {name: svg for name, svg in found.items() if svg}
