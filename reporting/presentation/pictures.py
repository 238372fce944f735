"""Drawings and charts of a snapshot, in the reader's units: SVG text, and plotly figures as plain data."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from maintenance.presentation.charts import decline_figure
from qa.calc.counts import SurfacePlan
from qa.presentation.drawing.plan import Mark
from qa.presentation.plan import drawn_plan
from qa.presentation.section import Picture, section_picture
from reporting.calc.parts import BuildUpPart, CurvePart, DeclinePart, PlanPart, SpotPart
from reporting.presentation.words import rate_words


def section_of(built: BuildUpPart, units: str, key: UUID, *, for_paper: bool = False) -> Picture:
    """The build-up as a cross-section. key: of the surface, keeps ids apart where a page shows several."""
    return section_picture(built, units, id_prefix=f"section-{key.hex[:8]}", for_paper=for_paper)


def plan_of_spots(
    plan: PlanPart | None, spots: Sequence[SpotPart], units: str, *, name: str, key: UUID
) -> Picture:
    """The surface from above with its placed locations; empty where no outline was recorded."""
    if plan is None:
        return Picture()
    return drawn_plan(
        SurfacePlan(plan.corners, plan.run_on_sides, plan.low_point),
        [mark for spot in spots for mark in _marks(spot, units)],
        units,
        name=name,
        jointed=plan.laid_of_units,
        id_prefix=f"plan-{key.hex[:8]}",
    )


def _marks(spot: SpotPart, units: str) -> list[Mark]:
    if spot.x_m is None or spot.y_m is None:
        return []
    note = rate_words(spot.last, units) if spot.last else ""
    return [Mark(spot.label, spot.zone, spot.x_m, spot.y_m, note)]


def chart_of(decline: DeclinePart, units: str) -> dict[str, Any]:
    """The decline and its forecast as a plotly figure."""
    record = {
        "past": _curve(decline.past),
        "future": _curve(decline.future) | {"below": list(decline.below)},
        "tests": [
            {
                "on": test.on.isoformat(),
                "rate_mm_h": test.rate.rate_mm_h,
                "bound": test.rate.bound.value,
                "place": test.place,
                "method": test.method.value,
            }
            for test in decline.tests
        ],
        "rounds": [{"on": r.on.isoformat(), "mean_mm_h": r.mean_mm_h} for r in decline.rounds],
        "cleanings": [{"on": c.on.isoformat(), "what": c.what} for c in decline.cleanings],
        "limit_mm_h": decline.limit_mm_h,
        "reach": {name: _iso(getattr(decline, name)) for name in ("alert_on", "even_on", "late_on")},
        "today": decline.today.isoformat(),
    }
    return decline_figure(record, units)


def _curve(curve: CurvePart) -> dict[str, list[Any]]:
    rates = {name: list(getattr(curve, name)) for name in ("median", "lo80", "hi80", "lo95", "hi95")}
    return {"on": [day.isoformat() for day in curve.on], **rates}


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
