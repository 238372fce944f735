"""From the layers of a record to the cross-section drawing."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.buildups import LayerKind
from qa.presentation.drawing.frame import MOST_STONES_IN_A_LAYER
from qa.presentation.drawing.section import BuildUp, Layer, Overflow, draw_section, size_of_section

USUAL_OVERFLOW_MM = 100.0


@dataclass(frozen=True, slots=True)
class Picture:
    """The drawing, or why there is none; both empty where nothing is recorded. note: what to say beside it."""

    svg: str = ""
    problem: str = ""
    note: str = ""


class BuiltLayer(Protocol):
    """A layer as it was recorded."""

    @property
    def kind(self) -> str: ...
    @property
    def material(self) -> str: ...
    @property
    def thickness_mm(self) -> float | None: ...
    @property
    def stone_min_mm(self) -> float | None: ...
    @property
    def stone_max_mm(self) -> float | None: ...
    @property
    def porosity(self) -> float | None: ...


class Built(Protocol):
    """A surface as it was built. stored_below_mm: water kept below the overflow, None where that is not known.

    seed: which stones are drawn; the same seed, the same picture.
    """

    @property
    def surface_type(self) -> str: ...
    @property
    def layers(self) -> Sequence[BuiltLayer]: ...
    @property
    def joint_width_mm(self) -> float | None: ...
    @property
    def overflow_invert_mm(self) -> float | None: ...
    @property
    def overflow_diameter_mm(self) -> float | None: ...
    @property
    def stored_below_mm(self) -> float | None: ...
    @property
    def seed(self) -> int: ...


def section_picture(
    built: Built,
    units: str,
    *,
    id_prefix: str,
    for_paper: bool = False,
    most_stones: int = MOST_STONES_IN_A_LAYER,
) -> Picture:
    """The build-up as SVG text. id_prefix: keeps ids apart where one page shows several sections."""
    if not any(layer.thickness_mm for layer in built.layers):
        return Picture()
    try:
        return Picture(svg=_draw(built, units, id_prefix, for_paper, most_stones))
    except UnusableRecordError as error:
        return Picture(problem=str(error))


def section_size(built: Built, units: str) -> tuple[float, float] | None:
    """Width and height of that drawing, sooner known than it is drawn; None where there is none."""
    if not any(layer.thickness_mm for layer in built.layers):
        return None
    try:
        return size_of_section(_build_up(built), system=UnitSystem(units))
    except UnusableRecordError:
        return None


def _draw(built: Built, units: str, id_prefix: str, for_paper: bool, most_stones: int) -> str:
    return draw_section(
        _build_up(built),
        system=UnitSystem(units),
        seed=built.seed,
        css_variables=not for_paper,
        id_prefix=id_prefix,
        most_stones=most_stones,
    )


def _build_up(built: Built) -> BuildUp:
    return BuildUp(
        surface_type=SurfaceType(built.surface_type),
        layers=tuple(_layer(layer) for layer in built.layers),
        overflow=_overflow(built),
        joint_width_mm=built.joint_width_mm,
    )


def _layer(layer: BuiltLayer) -> Layer:
    return Layer(
        kind=LayerKind(layer.kind),
        material=layer.material,
        thickness_mm=layer.thickness_mm or 0.0,
        stone_min_mm=layer.stone_min_mm,
        stone_max_mm=layer.stone_max_mm,
        porosity=layer.porosity,
    )


def _overflow(built: Built) -> Overflow | None:
    if built.overflow_invert_mm is None:
        return None
    diameter_mm = built.overflow_diameter_mm or USUAL_OVERFLOW_MM
    return Overflow(built.overflow_invert_mm, diameter_mm, built.stored_below_mm)
