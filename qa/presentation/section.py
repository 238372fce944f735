"""From stored layers to the cross-section drawing."""

from dataclasses import dataclass

from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.buildups import LayerKind
from qa.models import Layer as LayerRow
from qa.models import Surface
from qa.presentation.drawing.section import BuildUp, Layer, Overflow, draw_section
from qa.selectors.water import stored_below_mm

USUAL_OVERFLOW_MM = 100.0


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawing, or why there is none. Both empty: no layer is recorded."""

    svg: str = ""
    problem: str = ""


def section_picture(surface: Surface, units: str, *, for_paper: bool = False) -> Picture:
    """The build-up as SVG text, from the record."""
    rows = list(surface.layers.all())
    if not any(row.thickness_mm for row in rows):
        return Picture()
    try:
        return Picture(svg=_draw(surface, rows, units, for_paper))
    except UnusableRecordError as error:
        return Picture(problem=str(error))


def _draw(surface: Surface, rows: list[LayerRow], units: str, for_paper: bool) -> str:
    build_up = BuildUp(
        surface_type=SurfaceType(surface.surface_type),
        layers=tuple(_layer(row) for row in rows),
        overflow=_overflow(surface, rows),
        joint_width_mm=surface.joint_width_mm,
    )
    return draw_section(
        build_up,
        system=UnitSystem(units),
        seed=surface.pk.int % 10_000,
        css_variables=not for_paper,
        id_prefix=f"section-{surface.pk.hex[:8]}",
    )


def _layer(row: LayerRow) -> Layer:
    return Layer(
        kind=LayerKind(row.kind),
        material=row.material,
        thickness_mm=row.thickness_mm or 0.0,
        stone_min_mm=row.stone_min_mm,
        stone_max_mm=row.stone_max_mm,
        porosity=row.porosity,
    )


def _overflow(surface: Surface, rows: list[LayerRow]) -> Overflow | None:
    if surface.overflow_invert_mm is None:
        return None
    diameter_mm = surface.overflow_diameter_mm or USUAL_OVERFLOW_MM
    return Overflow(surface.overflow_invert_mm, diameter_mm, stored_below_mm(surface, rows))
