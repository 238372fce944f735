"""Water in a surface's build-up, computed from its record: what it holds, when it drains, what a rain does."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import inf

from django.urls import reverse
from django.utils.translation import gettext as _

from core.calc.format import bound_word, format_rate, format_short_length
from core.calc.marks import marked
from core.calc.paving import SurfaceType, TestMethod
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from qa.calc.buildups import LayerKind
from qa.calc.hydraulics import (
    StorageLayer,
    aggregate_porosity_warning,
    deepest_that_drains_mm,
    depth_for_rain_mm,
    depth_for_storm_mm,
    footprint_m2,
    slope_factor,
    storage_below_mm,
    storage_by_layer,
    storage_mm,
)
from qa.calc.rain import (
    Rain,
    RainFate,
    Reservoir,
    build_up_warnings,
    drain_time_warnings,
    rain_fate,
    run_on_warnings,
    setback_warnings,
)
from qa.calc.soil import USUAL_FACTOR, design_rate_mm_h
from qa.models import Layer, SoilTest, Surface
from qa.selectors.rounds import latest_mean

FILL_H = 2.0  # usual filling time of the depth formula: Smith 2006, via the Ontario guide
AGGREGATES = (LayerKind.BEDDING, LayerKind.BASE, LayerKind.SUBBASE)
# A surface course that is porous throughout; between units the joints hold next to nothing.
POROUS_THROUGHOUT = (
    SurfaceType.PERVIOUS_CONCRETE,
    SurfaceType.POROUS_ASPHALT,
    SurfaceType.RESIN_BOUND,
    SurfaceType.GRAVEL,
)


@dataclass(frozen=True, slots=True)
class RainAsked:
    """The rain and the drain time a person asks about: mm, h, greatest intensity over the mean, h."""

    rain_mm: float
    duration_h: float
    peak_factor: float
    drain_h: float


@dataclass(frozen=True, slots=True)
class Missing:
    """What to enter, why, and the page where it is entered."""

    what: str
    why: str
    url: str


@dataclass(frozen=True, slots=True)
class LayerWater:
    """A layer with the water it holds when full, mm over the paved area."""

    layer: Layer
    holds_mm: float


@dataclass(frozen=True, slots=True)
class Store:
    """The build-up as a store; depths of water in mm over the paved area.

    height_mm: of stone that stores, up to the overflow. level_mm: water it would hold on a level subgrade.
    below_mm: what it holds with the recorded fall. porosity: mean of the part that stores.
    """

    layers: Sequence[LayerWater]
    full_mm: float
    height_mm: float
    level_mm: float
    below_mm: float
    porosity: float
    slope_share: float
    reuse_mm: float
    has_pipe: bool
    lined: bool
    soil_rate_mm_h: float | None

    @property
    def drain_h(self) -> float | None:
        """Hours in which the full store soaks away at its deepest; infinite where it never does."""
        if self.soil_rate_mm_h is None:
            return None
        if self.level_mm == 0:
            return 0.0
        return self.level_mm / self.soil_rate_mm_h if self.soil_rate_mm_h > 0 else inf

    @property
    def never_drains(self) -> bool:
        """Whether the soil, or a liner, takes nothing."""
        return self.drain_h == inf


@dataclass(frozen=True, slots=True)
class Sizing:
    """What sizing formulas ask for the rain, beside what was built."""

    depth_fill_mm: float
    fill_h: float
    depth_storm_mm: float
    deepest_mm: float
    footprint_m2: float


@dataclass(frozen=True, slots=True)
class RainCase:
    """What the rain does for one rate of the surface; None takes everything."""

    name: str
    surface_rate_mm_h: float | None
    fate: RainFate


@dataclass(frozen=True, slots=True)
class SoilTested:
    """The soil tests that count, newest first, and what the slowest place carries (mm/h).

    factor: the surface's safety factor, or the usual one where none is recorded.
    """

    tests: Sequence[SoilTest]
    slowest_mm_h: float
    factor: float
    factor_recorded: bool

    @property
    def carries_mm_h(self) -> float:
        """The design rate that the slowest place allows."""
        return design_rate_mm_h(self.slowest_mm_h, self.factor)


@dataclass(frozen=True, slots=True)
class SurfaceWater:
    """All that the page shows. `store` is None while the layers do not suffice, `cases` empty without a soil rate."""

    store: Store | None
    sizing: Sizing | None = None
    cases: Sequence[RainCase] = ()
    missing: Sequence[Missing] = ()
    warnings: Sequence[str] = ()
    problems: Sequence[str] = field(default=())


def surface_water(surface: Surface, asked: RainAsked, units: str) -> SurfaceWater:
    """Read the record and work out what the build-up does with water."""
    layers = list(surface.layers.all())
    system = UnitSystem(units)
    missing = [*_missing_layers(surface, layers), *_missing_facts(surface, layers)]
    warnings = _porosity_warnings(layers)
    try:
        store = store_of(surface, layers)
        if store is None:
            return SurfaceWater(None, missing=missing, warnings=warnings)
        warnings += _warnings(surface, store, system)
        known = SurfaceWater(store, missing=missing, warnings=warnings)
        if store.soil_rate_mm_h is None:
            return known
        return replace(
            known,
            sizing=_sizing(surface, store, asked),
            cases=[_case(surface, store, asked, *case) for case in _surface_rates(surface, system)],
        )
    except UnusableRecordError as error:
        return SurfaceWater(None, missing=missing, warnings=warnings, problems=[str(error)])


def soil_tested(surface: Surface) -> SoilTested | None:
    """What the soil tests of a surface say together; None without one that counts."""
    tests = list(surface.soil_tests.active())
    if not tests:
        return None
    factor = surface.soil_safety_factor
    slowest = min(test.result.rate_mm_h for test in tests)
    return SoilTested(tests, slowest, factor or USUAL_FACTOR, factor is not None)


def soil_warning(surface: Surface, tested: SoilTested | None, units: str) -> str:
    """Where the design rate is more than the slowest test carries; empty otherwise."""
    design = surface.soil_rate_mm_h
    if tested is None or design is None or design <= tested.carries_mm_h * (1 + 1e-6):
        return ""
    said = _(
        "The design rate of the soil is {design}; the slowest test shows {slowest}, which over a safety factor of "
        "{factor} carries {carries}. Ask the designer, or correct the record."
    )
    return said.format(
        design=format_rate(design, units),
        slowest=format_rate(tested.slowest_mm_h, units),
        factor=marked(f"{tested.factor:g}"),
        carries=format_rate(tested.carries_mm_h, units),
    )


def stored_below_mm(surface: Surface, layers: Sequence[Layer]) -> float | None:
    """What the build-up holds below its overflow; None while the record does not say, or cannot be worked with."""
    if any(_stores(surface, layer) and not layer.porosity for layer in layers):
        return None
    try:
        store = store_of(surface, layers)
    except UnusableRecordError:  # the page of the water says what is wrong
        return None
    return store.below_mm if store else None


def _stores(surface: Surface, layer: Layer) -> bool:
    """Whether a layer stores water; a joint fill lies within the surface course and is not counted twice."""
    porous_top = layer.kind == LayerKind.SURFACE_COURSE and surface.surface_type in POROUS_THROUGHOUT
    return layer.kind in AGGREGATES or porous_top


def _missing_layers(surface: Surface, layers: Sequence[Layer]) -> list[Missing]:
    url = reverse("qa:layer-edit", args=[surface.pk])
    if not any(_stores(surface, layer) for layer in layers):
        return [Missing(_("Layers of stone"), _("without them nothing can be worked out"), url)]
    return [
        Missing(
            _("Porosity of the {layer}").format(layer=layer.get_kind_display().lower()),
            _("it is left out until then"),
            url,
        )
        for layer in layers
        if _stores(surface, layer) and not layer.porosity
    ]


def _missing_facts(surface: Surface, layers: Sequence[Layer]) -> list[Missing]:
    url = reverse("qa:surface-edit", args=[surface.pk])
    wanted = [
        (
            None if _lined(layers) else "soil_rate_mm_h",
            _("Design rate of the soil"),
            _("drain time and rain need it"),
        ),
        ("subgrade_slope_percent", _("Fall of the subgrade"), _("it is taken as level until then")),
        ("foundation_distance_m", _("Distance to the nearest foundation"), _("setbacks cannot be checked")),
        ("well_distance_m", _("Distance to the nearest well"), _("setbacks cannot be checked")),
        ("water_table_depth_m", _("Depth to high water or bedrock"), _("setbacks cannot be checked")),
    ]
    if surface.reuse_store_m3:
        wanted.append(
            (
                "overflow_invert_mm",
                _("Height of the overflow or drain"),
                _("without a pipe the reuse store gets nothing"),
            )
        )
    if surface.subgrade_slope_percent:
        wanted.append(
            ("subgrade_fall_length_m", _("Length along the fall"), _("the fall counts only with it"))
        )
    return [Missing(what, why, url) for name, what, why in wanted if name and getattr(surface, name) is None]


def _lined(layers: Sequence[Layer]) -> bool:
    return any(layer.kind == LayerKind.LINER for layer in layers)


def _porosity_warnings(layers: Sequence[Layer]) -> list[str]:
    found = []
    for layer in layers:
        if layer.kind in AGGREGATES and layer.porosity:
            said = _said_by(lambda porosity=layer.porosity: aggregate_porosity_warning(porosity))  # type: ignore[misc]
            if said:
                found.append(_("{layer}: {warning}").format(layer=layer.get_kind_display(), warning=said))
    return found


def _said_by(warn: Callable[[], str]) -> str:
    try:
        return warn()
    except UnusableRecordError as error:  # what cannot be stone is still a record; the page says so
        return str(error)


def store_of(surface: Surface, layers: Sequence[Layer]) -> Store | None:
    """The build-up as a store; None while no layer of stone with its porosity is recorded.

    Raises UnusableRecordError for a record that cannot be.
    """
    rows = [layer for layer in layers if _stores(surface, layer) and layer.porosity and layer.thickness_mm]
    if not rows:
        return None
    plain = [StorageLayer(row.get_kind_display(), row.thickness_mm or 0, row.porosity or 0) for row in rows]
    depth = sum(layer.thickness_mm for layer in plain)
    invert = surface.overflow_invert_mm
    height = depth if invert is None else min(invert, depth)
    level = storage_below_mm(plain, height)
    share = _slope_share(surface, height)
    return Store(
        layers=[
            LayerWater(row, held.holds_mm) for row, held in zip(rows, storage_by_layer(plain), strict=True)
        ],
        full_mm=storage_mm(plain),
        height_mm=height,
        level_mm=level,
        below_mm=level * share,
        porosity=level / height if height else plain[-1].porosity,
        slope_share=share,
        reuse_mm=1000 * (surface.reuse_store_m3 or 0.0) / surface.area_m2,
        has_pipe=surface.overflow_invert_mm is not None,
        lined=_lined(layers),
        soil_rate_mm_h=0.0 if _lined(layers) else surface.soil_rate_mm_h,
    )


def _slope_share(surface: Surface, height_mm: float) -> float:
    slope, length = surface.subgrade_slope_percent, surface.subgrade_fall_length_m
    if not slope or not length or not height_mm:
        return 1.0
    return slope_factor(height_mm, slope / 100, length)


def _warnings(surface: Surface, store: Store, system: UnitSystem) -> list[str]:
    found = list(run_on_warnings(surface.run_on_ratio))
    invert, depth = surface.overflow_invert_mm, sum(row.layer.thickness_mm or 0 for row in store.layers)
    if invert is not None and invert > depth:
        said = _(
            "The overflow lies {above} above the stone that stores water, which is {depth} deep. Check both."
        )
        above, deep = (format_short_length(length, system) for length in (invert - depth, depth))
        found.append(said.format(above=above, depth=deep))
    if store.drain_h is not None and store.soil_rate_mm_h is not None:
        found += drain_time_warnings(store.drain_h) if not store.lined else ()
        found += build_up_warnings(
            store.soil_rate_mm_h,
            store.height_mm,
            has_overflow=surface.overflow_invert_mm is not None,
            soil_drains_on=surface.bare_soil,
            system=system,
        )
    for word, distance in (
        ("foundation", surface.foundation_distance_m),
        ("well", surface.well_distance_m),
        ("downwards", surface.water_table_depth_m),
    ):
        if distance is not None:
            found += setback_warnings(word, distance, system, has_run_on=surface.run_on_area_m2 > 0)
    return found


def _sizing(surface: Surface, store: Store, asked: RainAsked) -> Sizing | None:
    soil, n = store.soil_rate_mm_h or 0.0, store.porosity
    if not store.height_mm:
        return None
    fill_h = min(FILL_H, asked.duration_h)
    intensity = asked.rain_mm / asked.duration_h
    catchment = surface.area_m2 + surface.run_on_area_m2
    return Sizing(
        depth_fill_mm=depth_for_rain_mm(asked.rain_mm, surface.run_on_ratio, asked.rain_mm, soil, fill_h, n),
        fill_h=fill_h,
        depth_storm_mm=depth_for_storm_mm(asked.duration_h, intensity, surface.run_on_ratio, soil, n),
        deepest_mm=deepest_that_drains_mm(soil, asked.drain_h, n),
        footprint_m2=footprint_m2(asked.duration_h, intensity, catchment, store.height_mm, soil, n),
    )


def _surface_rates(surface: Surface, system: UnitSystem) -> list[tuple[str, float | None]]:
    """The rates to show: what the latest round found, else a surface that takes everything; and the limit."""
    limit = format_rate(surface.limit_mm_h, system)
    at_limit = (_("At its limit, {rate}").format(rate=limit), surface.limit_mm_h)
    latest = latest_mean(surface)
    if latest is None:
        return [(_("Surface takes everything"), None), at_limit]
    by_ring = latest.method is TestMethod.RING
    said = _("As last tested, {rate}") if by_ring else _("As last tested, {rate} by {method}")
    rate = f"{bound_word(latest.mean.bound)}{format_rate(latest.mean.rate_mm_h, system)}"
    said = said.format(rate=rate, method=latest.method.in_sentence)
    return [(said, latest.mean.rate_mm_h), at_limit]


def _case(surface: Surface, store: Store, asked: RainAsked, name: str, rate: float | None) -> RainCase:
    reservoir = Reservoir(
        store.below_mm,
        store.soil_rate_mm_h or 0.0,
        store.reuse_mm,
        rate,
        has_pipe=store.has_pipe,
    )
    rain = (Rain(asked.rain_mm, asked.duration_h, asked.peak_factor), surface.run_on_ratio, reservoir)
    return RainCase(name, rate, rain_fate(*rain))
