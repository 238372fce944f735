"""What sieve analyses say: against their band, as sizes and estimates, and between neighbouring layers."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.paving import SurfaceType
from core.errors import IncompleteRecordError, UnusableRecordError
from qa.calc.buildups import SHEETS, LayerKind
from qa.calc.gradation import (
    FilterCheck,
    GradingResult,
    Sizes,
    characteristic_sizes,
    check_grading,
    filter_check,
    hazen_conductivity_mm_h,
    hazen_warning,
    porosity_from_uniformity,
    size_at,
)
from qa.calc.hydraulics import aggregate_porosity_warning
from qa.calc.sieves import sieve_label
from qa.calc.sieving import SieveAnalysis, SieveEntry, fines_warnings, passing_from_retained
from qa.models import Layer, Sieving, Surface

STONE_KINDS = (LayerKind.JOINT_FILL, LayerKind.BEDDING, LayerKind.BASE, LayerKind.SUBBASE)
POROSITY_SOURCE = gettext_noop(
    "n = 0.255·(1 + 0.83^Cu), Vukovic & Soro, as used in the Ontario guide's table of granulars. "
    "Made for granulars with fines; for clean stone of one size measure it."
)
CONDUCTIVITY_SOURCE = gettext_noop(
    "K = 3600·d10² with d10 in mm, Hazen, as used in the Ontario guide's table of granulars."
)


@dataclass(frozen=True, slots=True)
class SieveRow:
    """One sieve of the table: percent passing as judged, and the band's limits; None where there is none."""

    label: str
    sieve_mm: float
    passing: float | None
    low: float | None
    high: float | None
    reason: str = ""
    retained_g: float | None = None

    @property
    def state(self) -> str:
        """out, missing, inside, or free of limits."""
        if self.low is None:
            return "free"
        if self.passing is None:
            return "missing"
        return "out" if self.reason else "inside"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value estimated from sizes, with its source and what to say beside it."""

    value: float
    source: str
    warning: str = ""


@dataclass(frozen=True, slots=True)
class Grading:
    """A sieve analysis read in full. sizes_mm: by percent, those that the sieves bracket."""

    sieving: Sieving
    analysis: SieveAnalysis
    result: GradingResult
    rows: Sequence[SieveRow]
    sizes_mm: dict[int, float]
    uniformity: float | None
    porosity: Estimate | None
    conductivity: Estimate | None
    warnings: Sequence[str] = field(default=())


def analysis_of(sieving: Sieving) -> SieveAnalysis:
    """Percent passing, whichever way it was entered. Raises UnusableRecordError for readings that give none."""
    if sieving.entry == SieveEntry.PASSING:
        return SieveAnalysis(dict(sorted(sieving.by_sieve.items(), reverse=True)), None, ())
    return passing_from_retained(
        sieving.by_sieve, sieving.pan_g or 0.0, sieving.wash_loss_percent or 0.0, sieving.dry_mass_g
    )


def grading_of(sieving: Sieving) -> Grading:
    """Everything a page shows of one sieve analysis."""
    analysis, band = analysis_of(sieving), sieving.band
    reported = _rounded(analysis.passing)
    result = check_grading(reported, band)
    reasons = {found.sieve_mm: found.reason for found in result.failures}
    sieves = sorted({*analysis.passing, *band.limits}, reverse=True)
    sizes = _sizes(analysis.passing)
    uniformity = sizes[60] / sizes[10] if {10, 60} <= sizes.keys() else None
    return Grading(
        sieving=sieving,
        analysis=analysis,
        result=result,
        rows=[_row(sieve, reported, sieving, reasons.get(sieve, "")) for sieve in sieves],
        sizes_mm=sizes,
        uniformity=uniformity,
        porosity=_porosity(uniformity),
        conductivity=_conductivity(sizes.get(10)),
        warnings=(
            *analysis.warnings,
            *result.warnings,
            *fines_warnings(reported, sieving.wash_loss_percent),
        ),
    )


def _row(sieve_mm: float, passing: dict[float, float], sieving: Sieving, reason: str) -> SieveRow:
    low, high = sieving.band.limits.get(sieve_mm, (None, None))
    masses = sieving.by_sieve if sieving.entry == SieveEntry.RETAINED else {}
    return SieveRow(
        sieve_label(sieve_mm), sieve_mm, passing.get(sieve_mm), low, high, reason, masses.get(sieve_mm)
    )


def _rounded(passing: dict[float, float]) -> dict[float, float]:
    """As sheets report it, to a tenth of a percent, so that the last binary digit decides nothing."""
    return {sieve: round(percent, 1) for sieve, percent in passing.items()}


def _sizes(passing: dict[float, float]) -> dict[int, float]:
    found = {}
    for percent in (10, 15, 50, 60, 85):
        size = _or_none(lambda percent=percent: size_at(passing, percent))  # type: ignore[misc]
        if size is not None:
            found[percent] = size
    return found


def _or_none(compute: Callable[[], float]) -> float | None:
    try:
        return compute()
    except IncompleteRecordError:  # the sieves used do not bracket that percent
        return None


def _porosity(uniformity: float | None) -> Estimate | None:
    if uniformity is None:
        return None
    value = porosity_from_uniformity(uniformity)
    try:
        warning = aggregate_porosity_warning(value)
    except UnusableRecordError as error:
        warning = str(error)
    return Estimate(value, _(POROSITY_SOURCE), warning)


def _conductivity(d10_mm: float | None) -> Estimate | None:
    if d10_mm is None:
        return None
    return Estimate(
        hazen_conductivity_mm_h(d10_mm), _(CONDUCTIVITY_SOURCE), hazen_warning(float(f"{d10_mm:.3g}"))
    )


@dataclass(frozen=True, slots=True)
class LayerGrading:
    """A layer with its latest sieve analysis that counts, if it has one."""

    layer: Layer
    grading: Grading | None


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Two layers one above the other: whether the upper stays out of the lower, or what is missing to tell.

    sizes: of the upper and the lower stone, where there is a check.
    """

    upper: Layer
    lower: Layer
    check: FilterCheck | None
    missing: str = ""
    sizes: tuple[Sizes, Sizes] | None = None


@dataclass(frozen=True, slots=True)
class SurfaceGradation:
    """The stone of a surface: layer by layer, between neighbours, and all that was recorded."""

    layers: Sequence[LayerGrading]
    neighbours: Sequence[Neighbours]
    recorded: Sequence[Grading]
    left_out: Sequence[Sieving]


def is_stone(layer: Layer, surface: Surface) -> bool:
    """Whether a layer is loose stone, which can be sieved."""
    of_gravel = layer.kind == LayerKind.SURFACE_COURSE and surface.surface_type == SurfaceType.GRAVEL
    return layer.kind in STONE_KINDS or of_gravel


def surface_gradation(surface: Surface) -> SurfaceGradation:
    """Read every sieve analysis of a surface, in two queries."""
    sievings = list(surface.sievings.select_related("own_band", "layer", "recorded_by"))
    gradings = [grading_of(sieving) for sieving in sievings if sieving.is_active]
    layers = list(surface.layers.all())
    latest = {g.sieving.layer_id: g for g in reversed(gradings) if g.sieving.layer_id}
    stone = [LayerGrading(layer, latest.get(layer.pk)) for layer in layers if is_stone(layer, surface)]
    return SurfaceGradation(
        layers=stone,
        neighbours=[_neighbours(a, b, layers) for a, b in pairwise(stone)],
        recorded=gradings,
        left_out=[sieving for sieving in sievings if not sieving.is_active],
    )


def _neighbours(upper: LayerGrading, lower: LayerGrading, layers: Iterable[Layer]) -> Neighbours:
    between = [
        layer
        for layer in layers
        if layer.kind in SHEETS and upper.layer.position < layer.position < lower.layer.position
    ]
    if between:
        said = _("A {layer} lies between; it keeps them apart.")
        missing = said.format(layer=between[0].get_kind_display().lower())
        return Neighbours(upper.layer, lower.layer, None, missing)
    untested = [found.layer.get_kind_display().lower() for found in (upper, lower) if not found.grading]
    if untested:
        return Neighbours(upper.layer, lower.layer, None, _needed_of(*untested))
    try:
        sizes = _all_sizes(upper), _all_sizes(lower)
        check = filter_check(*sizes)
    except UnusableRecordError as error:
        return Neighbours(upper.layer, lower.layer, None, str(error))
    return Neighbours(upper.layer, lower.layer, check, sizes=sizes)


def _needed_of(first: str, second: str = "") -> str:
    if not second:
        return _("Needs a sieve analysis of the {layer}.").format(layer=first)
    return _("Needs a sieve analysis of the {first} and the {second}.").format(first=first, second=second)


def _all_sizes(found: LayerGrading) -> Sizes:
    assert found.grading is not None  # the caller has looked
    return characteristic_sizes(found.grading.analysis.passing)
