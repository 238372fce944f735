"""Water in the build-up: storage, depth, drain-down, and footprint. A check of a record, not a design.

"Void ratio 0.40" in stormwater manuals means porosity, voids over total; the void ratio of soil
mechanics, voids over solids, is e = n/(1 - n). Here porosity is meant throughout, and a value
that looks like the other is refused. Soil rates are in mm/h; some guides print m/d beside hours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short

POROSITY_ACCEPTED = (0.25, 0.48)
POROSITY_USUAL = (0.30, 0.42)
FASTEST_SOIL_MM_H = 1000.0


@dataclass(frozen=True, slots=True)
class StorageLayer:
    """A layer that holds water: thickness in mm, porosity 0 to 1, and its area where it differs."""

    name: str
    thickness_mm: float
    porosity: float
    area_m2: float | None = None


@dataclass(frozen=True, slots=True)
class LayerStorage:
    """Water a layer holds, in mm over its area."""

    name: str
    holds_mm: float


def require_porosity(porosity: float, name: str = gettext_noop("Porosity")) -> None:
    """Refuse what cannot be a porosity of paving or stone. name: a marked text."""
    if not 0 < porosity < 0.6:
        raise ImpossibleRecordError(
            # Translators: {name} is for instance "Porosity" or "Porosity of base".
            _(
                "{name} {porosity} is outside 0 to 0.6. Enter voids over total volume (0.40 for clear stone), "
                "not the void ratio of soil mechanics (0.667 for the same stone)."
            ).format(name=_(name), porosity=short(porosity))
        )


def aggregate_porosity_warning(porosity: float) -> str:
    """What to say beside a porosity of stone; empty where it is usual. Raises where it cannot be true.

    Source: 0.40 for open-graded clear stone (Minnesota and Ontario manuals, looked up), 0.30 in UK and
    US Midwest practice (looked up); the ranges of acceptance are our own.
    """
    low, high = POROSITY_ACCEPTED
    if not low <= porosity <= high:
        raise ImpossibleRecordError(
            _(
                "A porosity of {porosity} is outside {low} to {high} for stone. Enter voids over total volume; "
                "a void ratio e becomes a porosity by e/(1 + e)."
            ).format(porosity=short(porosity), low=short(low), high=short(high))
        )
    low, high = POROSITY_USUAL
    if low <= porosity <= high:
        return ""
    said = _("A porosity of {porosity} is outside the usual {low} to {high}. Have it confirmed by a test.")
    return said.format(porosity=short(porosity), low=short(low), high=short(high))


def void_ratio(porosity: float) -> float:
    """Voids over solids from voids over total, e = n/(1 - n)."""
    return porosity / (1 - porosity)


def porosity_of_void_ratio(ratio: float) -> float:
    """Voids over total from voids over solids, n = e/(1 + e)."""
    return ratio / (1 + ratio)


def storage_by_layer(layers: Sequence[StorageLayer]) -> tuple[LayerStorage, ...]:
    """Water each layer holds when full, d·n, in mm."""
    return tuple(LayerStorage(layer.name, _holds_mm(layer)) for layer in layers)


def storage_mm(layers: Sequence[StorageLayer]) -> float:
    """Water the layers hold when full, in mm over the paved area."""
    return sum(_holds_mm(layer) for layer in layers)


def storage_volume_m3(layers: Sequence[StorageLayer], area_m2: float) -> float:
    """Volume of water the layers hold when full, V = Σ A·d·n.

    area_m2: of layers that give none of their own.

    Source: Noblesville (Indiana) pervious pavement standard, sections 6-7 (looked up).
    """
    require_positive(gettext_noop("Area"), area_m2, "m²", gettext_noop("Enter the area of the surface."))
    return sum(_holds_mm(layer) / 1000 * (layer.area_m2 or area_m2) for layer in layers)


def storage_below_mm(layers_top_down: Sequence[StorageLayer], height_mm: float) -> float:
    """Water in the voids up to a height above the subgrade, such as the invert of the overflow."""
    require_not_negative(gettext_noop("Height above the subgrade"), height_mm, "mm")
    held, bottom = 0.0, 0.0
    for layer in reversed(layers_top_down):
        wet = min(layer.thickness_mm, max(0.0, height_mm - bottom))
        held += wet * layer.porosity
        bottom += layer.thickness_mm
    return held


def _holds_mm(layer: StorageLayer) -> float:
    require_positive(
        _("Thickness of {layer}").format(layer=layer.name),
        layer.thickness_mm,
        "mm",
        gettext_noop("Measure the layer."),
    )
    require_porosity(layer.porosity, _("Porosity of {layer}").format(layer=layer.name))
    return layer.thickness_mm * layer.porosity


def depth_for_rain_mm(
    runoff_mm: float,
    run_on_ratio: float,
    rain_mm: float,
    soil_rate_mm_h: float,
    fill_h: float,
    porosity: float,
) -> float:
    """Depth of stone for a rain, full infiltration: d = (ΔQc·R + P - f·T)/Vr; 0 where that is negative.

    runoff_mm: ΔQc, depth that runs off the contributing area. fill_h: T, hours of filling, usually 2.

    Source: Smith 2006, Permeable Interlocking Concrete Pavements manual, 3rd ed., via the Ontario
    guide's sizing page (looked up).
    """
    require_porosity(porosity)
    for name, value, unit in (
        (gettext_noop("Runoff depth"), runoff_mm, "mm"),
        (gettext_noop("Run-on ratio"), run_on_ratio, ""),
        (gettext_noop("Rain depth"), rain_mm, "mm"),
        (gettext_noop("Filling time"), fill_h, "h"),
    ):
        require_not_negative(name, value, unit)
    _require_soil_rate(soil_rate_mm_h)
    return max(0.0, (runoff_mm * run_on_ratio + rain_mm - soil_rate_mm_h * fill_h) / porosity)


def depth_for_storm_mm(
    storm_h: float, intensity_mm_h: float, run_on_ratio: float, soil_rate_mm_h: float, porosity: float
) -> float:
    """Depth of stone for a storm of constant intensity: D·(i·R + i - f')/n; 0 where that is negative.

    Source: Ontario guide, permeable pavement sizing, December 2021 revision (looked up).
    """
    return depth_for_rain_mm(
        storm_h * intensity_mm_h, run_on_ratio, storm_h * intensity_mm_h, soil_rate_mm_h, storm_h, porosity
    )


def footprint_m2(
    storm_h: float,
    intensity_mm_h: float,
    catchment_m2: float,
    depth_mm: float,
    soil_rate_mm_h: float,
    porosity: float,
) -> float:
    """Area of reservoir of a given depth by mass balance: Ar = i·D·Ac/(dr·n + f'·D).

    catchment_m2: Ac, contributing area and reservoir together. A published form lets the soil take
    water under the whole catchment, (i - f')·D·Ac/(dr·n), and so comes out too small: 375 instead of
    500 m² for 1500 m², 15 mm/h over 4 h, 5 mm/h, 400 mm at 0.40. It is not used here.
    """
    require_porosity(porosity)
    require_positive(
        gettext_noop("Storm duration"), storm_h, "h", gettext_noop("Enter the hours of the design storm.")
    )
    require_positive(
        gettext_noop("Rain intensity"),
        intensity_mm_h,
        "mm/h",
        gettext_noop("Take it from the local rainfall table."),
    )
    require_positive(
        gettext_noop("Catchment"),
        catchment_m2,
        "m²",
        gettext_noop("Enter the area that drains here, with the surface."),
    )
    require_positive(
        gettext_noop("Depth"), depth_mm, "mm", gettext_noop("Enter the depth of stone that holds water.")
    )
    _require_soil_rate(soil_rate_mm_h)
    return intensity_mm_h * storm_h * catchment_m2 / (depth_mm * porosity + soil_rate_mm_h * storm_h)


def deepest_that_drains_mm(soil_rate_mm_h: float, drain_h: float, porosity: float) -> float:
    """Depth of stone that drains in an allowed time, f·t/n; also the depth below an overflow that does.

    Source: Smith 2006 and Ontario guide, permeable pavement sizing (looked up).
    """
    require_porosity(porosity)
    require_positive(
        gettext_noop("Drain time"), drain_h, "h", gettext_noop("Enter the hours the local rule allows.")
    )
    _require_soil_rate(soil_rate_mm_h)
    return soil_rate_mm_h * drain_h / porosity


def drain_time_h(depth_mm: float, porosity: float, soil_rate_mm_h: float) -> float:
    """Hours in which a full depth of stone soaks away, d·n/f; infinite on soil that takes nothing."""
    require_porosity(porosity)
    require_not_negative(gettext_noop("Depth"), depth_mm, "mm")
    _require_soil_rate(soil_rate_mm_h)
    if depth_mm == 0:
        return 0.0
    return depth_mm * porosity / soil_rate_mm_h if soil_rate_mm_h > 0 else inf


def slope_factor(depth_mm: float, slope: float, length_m: float) -> float:
    """Share of a level store that is left on a sloping subgrade, without terraces or check dams.

    slope: fall over length, such as 0.01. length_m: along the fall.

    Source: geometry of a wedge; agrees with Leming, Malcom & Tennis 2007, Hydrologic Design of Pervious
    Concrete (EB303), 3.3.2 (from memory).
    """
    require_positive(
        gettext_noop("Depth"), depth_mm, "mm", gettext_noop("Enter the depth of stone that holds water.")
    )
    require_not_negative(gettext_noop("Slope"), slope, "")
    require_positive(gettext_noop("Length"), length_m, "m", gettext_noop("Enter the length along the fall."))
    if slope > 0.5:
        raise ImpossibleRecordError(
            _("A slope of {slope} is steeper than 1 in 2. Enter 1 % as 0.01.").format(slope=short(slope))
        )
    fall_mm = slope * length_m * 1000
    return 1 - fall_mm / (2 * depth_mm) if fall_mm <= depth_mm else depth_mm / (2 * fall_mm)


def _require_soil_rate(soil_rate_mm_h: float) -> None:
    require_not_negative(gettext_noop("Soil rate"), soil_rate_mm_h, "mm/h")
    if soil_rate_mm_h > FASTEST_SOIL_MM_H:
        raise ImpossibleRecordError(
            _(
                "A soil rate of {rate} mm/h is faster than clean gravel. Enter mm/h: "
                "1 m/d is 41.7 mm/h, 10⁻⁵ m/s is 36 mm/h."
            ).format(rate=short(soil_rate_mm_h))
        )
