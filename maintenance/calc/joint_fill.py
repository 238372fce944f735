"""How much joint material a surface takes: an estimate from its geometry, for what a crew loads.

Sources: share of the joints and mass are geometry (derived). Density of a grain of stone: 2.65 t/m³, that of quartz,
which textbooks of soil mechanics use where none was measured (from memory). Size of a unit, width of a joint and share
of cells where none is recorded: common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from core.calc.marks import marked
from core.calc.paving import SurfaceType
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError

GRAIN_KG_M3 = 2650.0
SPARE = 0.10  # more than fits, for what is spilt and settles; common practice, no source
USUAL_JOINT_MM = 8.0
SOURCE = gettext_noop(
    "Area × share of joints × depth × (1 − voids) × 2650 kg/m³ (grain density, from memory), and a tenth more for "
    "spilling and settling (common practice, no source). An estimate: joints that are emptied in part take less."
)


class UnitSize(NamedTuple):
    """Length and width of a unit in mm."""

    length_mm: float
    width_mm: float


USUAL_UNIT: Mapping[SurfaceType, UnitSize] = {
    SurfaceType.PICP: UnitSize(200.0, 100.0),
    SurfaceType.CLAY: UnitSize(200.0, 100.0),
    SurfaceType.RESIN_JOINT: UnitSize(100.0, 100.0),
}
CELL_SHARE: Mapping[SurfaceType, float] = {SurfaceType.CONCRETE_GRID: 0.40, SurfaceType.PLASTIC_GRID: 0.90}


@dataclass(frozen=True, slots=True)
class JointFill:
    """What a surface takes. assumed: in words, what was not recorded."""

    mass_kg: float
    share_of_area: float
    assumed: tuple[str, ...]


def _plain(value: float) -> str:
    return marked(f"{value:g}")


def joint_share(unit: UnitSize, joint_mm: float) -> float:
    """Share of the area that is joint, for units in a running bond: each has half a joint all around it."""
    length, width = unit
    return 1.0 - length * width / ((length + joint_mm) * (width + joint_mm))


def joint_fill(
    surface_type: str, area_m2: float, joint_mm: float | None, depth_mm: float, porosity: float
) -> JointFill | None:
    """The mass that fills all joints or cells anew; None for a surface that has none.

    depth_mm: of the fill; porosity: its share of voids. Raises ImpossibleRecordError for sizes that cannot be.
    """
    if area_m2 <= 0 or depth_mm <= 0 or not 0 < porosity < 1:
        said = _(
            "Joint fill needs an area, a depth and voids between 0 and 1; got {area} m², {depth} mm and {voids}. Check "
            "the build-up."
        )
        raise ImpossibleRecordError(
            said.format(area=_plain(area_m2), depth=_plain(depth_mm), voids=_plain(porosity))
        )
    kind = SurfaceType(surface_type)
    assumed: list[str] = []
    if kind in CELL_SHARE:
        share = CELL_SHARE[kind]
        assumed.append(_("cells are {share} of the area").format(share=f"{share:.0%}"))
    elif kind in USUAL_UNIT:
        unit, width_mm = USUAL_UNIT[kind], joint_mm or USUAL_JOINT_MM
        assumed.append(
            _("units of {length} × {width} mm").format(
                length=_plain(unit.length_mm), width=_plain(unit.width_mm)
            )
        )
        if joint_mm is None:
            assumed.append(_("joints {width} mm wide").format(width=_plain(width_mm)))
        share = joint_share(unit, width_mm)
    else:
        return None
    stone_kg_m3 = (1.0 - porosity) * GRAIN_KG_M3
    mass_kg = area_m2 * share * depth_mm / 1000.0 * stone_kg_m3 * (1.0 + SPARE)
    return JointFill(mass_kg, share, tuple(assumed))
