"""Drawings and charts of a snapshot, in the reader's units: SVG text, and plotly figures as plain data."""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any
from uuid import UUID

from core.calc.translation import language
from maintenance.presentation.charts import decline_figure
from qa.calc.outlines import SurfacePlan
from qa.presentation.drawing.frame import MOST_STONES_IN_A_LAYER
from qa.presentation.drawing.plan import Mark
from qa.presentation.plan import drawn_plan
from qa.presentation.section import Picture, section_picture
from reporting.calc.parts import BuildUpPart, DeclinePart, PlanPart, SpotPart
from reporting.calc.snapshots import ReportedSurface, SurfaceSnapshot
from reporting.presentation.words import rate_words

FEW_STONES = 110  # in a layer, of a document that draws many
PLACE = "section-of-key"  # where a cached drawing has the ids of the surface it is shown for


def section_of(
    built: BuildUpPart, units: str, key: UUID, *, for_paper: bool = False, light: bool = False
) -> Picture:
    """The build-up as a cross-section. key: of the surface, keeps ids apart where a page shows several.

    light: with fewer stones, where a document shows many.
    """
    drawn = _drawn_section(built, units, language(), for_paper=for_paper, light=light)
    return replace(drawn, svg=drawn.svg.replace(PLACE, f"section-{key.hex[:8]}"))


@lru_cache(maxsize=256)
def _drawn_section(built: BuildUpPart, units: str, tongue: str, *, for_paper: bool, light: bool) -> Picture:
    """Laying the stones takes long, and many surfaces of a firm are built alike. tongue: what is written beside it."""
    most = FEW_STONES if light else MOST_STONES_IN_A_LAYER
    return section_picture(built, units, id_prefix=PLACE, for_paper=for_paper, most_stones=most)


def plan_of(surface: SurfaceSnapshot | ReportedSurface, units: str, *, for_paper: bool = False) -> Picture:
    """The plan of a surface as it was gathered for a page or a document."""
    standing = surface.standing
    return plan_of_spots(
        surface.plan,
        surface.spots,
        units,
        name=standing.name,
        area_m2=standing.area_m2,
        key=standing.key,
        for_paper=for_paper,
    )


def plan_of_spots(
    plan: PlanPart | None,
    spots: Sequence[SpotPart],
    units: str,
    *,
    name: str,
    area_m2: float,
    key: UUID,
    for_paper: bool = False,
) -> Picture:
    """The surface from above with its placed locations; empty where no outline was recorded."""
    if plan is None:
        return Picture()
    if plan.problem:
        return Picture(problem=plan.problem)
    marks = tuple(mark for spot in spots for mark in _marks(spot, units))
    return _drawn_plan(
        plan, marks, units, language(), name=name, area_m2=area_m2, key=key, for_paper=for_paper
    )


@lru_cache(maxsize=256)
def _drawn_plan(
    plan: PlanPart,
    marks: tuple[Mark, ...],
    units: str,
    tongue: str,
    *,
    name: str,
    area_m2: float,
    key: UUID,
    for_paper: bool,
) -> Picture:
    """A page asks for its size, and soon after for the drawing. tongue: what is written beside it."""
    return drawn_plan(
        SurfacePlan(plan.corners, plan.run_on_sides, plan.low_point),
        marks,
        units,
        name=name,
        area_m2=area_m2,
        jointed=plan.laid_of_units,
        id_prefix=f"plan-{key.hex[:8]}",
        for_paper=for_paper,
    )


def _marks(spot: SpotPart, units: str) -> list[Mark]:
    if spot.x_m is None or spot.y_m is None:
        return []
    note = rate_words(spot.last, units) if spot.last else ""
    return [Mark(spot.label, spot.zone, spot.x_m, spot.y_m, note)]


def chart_of(decline: DeclinePart, units: str) -> dict[str, Any]:
    """The decline and its forecast as a plotly figure."""
    return decline_figure(decline.record, units)
