"""A build-up as the record has it: plain values from which the cross-section is drawn."""

from dataclasses import dataclass
from math import isfinite

from core.calc.paving import SurfaceType
from core.calc.translation import gettext as _
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.buildups import LayerKind
from qa.calc.numbers import short

STACKED = frozenset(
    {LayerKind.SURFACE_COURSE, LayerKind.BEDDING, LayerKind.BOUND_BED, LayerKind.BASE, LayerKind.SUBBASE}
)


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer. Lengths in mm; porosity is voids over total, 0 to 1; None where not recorded.

    A joint fill lies within the surface course: its thickness is how deep the joints are filled
    from the bottom of the units. Sheets and the subgrade need no thickness.
    """

    kind: LayerKind
    material: str
    thickness_mm: float = 0.0
    stone_min_mm: float | None = None
    stone_max_mm: float | None = None
    porosity: float | None = None


@dataclass(frozen=True, slots=True)
class Overflow:
    """A pipe that takes what rises above its invert; height from the top of the subgrade.

    holds_mm: water that stays below the invert, mm over the paved area; None where it is not known.
    """

    invert_above_subgrade_mm: float
    diameter_mm: float
    holds_mm: float | None = None


@dataclass(frozen=True, slots=True)
class BuildUp:
    """A surface from the top down. Raises UnusableRecordError when a value cannot be drawn.

    unit_length_mm, joint_width_mm: of pavers and grids; typical ones are drawn where None.
    reuse_depth_mm: depth of water kept for irrigation, from the bottom of the stone.
    """

    surface_type: SurfaceType
    layers: tuple[Layer, ...]
    overflow: Overflow | None = None
    reuse_depth_mm: float | None = None
    unit_length_mm: float | None = None
    joint_width_mm: float | None = None

    def __post_init__(self) -> None:
        """Refuse what has no picture."""
        if not self.stacked:
            raise IncompleteRecordError(
                _("The build-up has no layer with a thickness. Record at least the surface course.")
            )
        for layer in self.layers:
            _refuse_bad_layer(layer)
        self._refuse_bad_water()

    @property
    def stacked(self) -> tuple[Layer, ...]:
        """The layers that take up height, from the top down."""
        return tuple(layer for layer in self.layers if layer.kind in STACKED)

    @property
    def depth_mm(self) -> float:
        """From the surface to the subgrade."""
        return sum(layer.thickness_mm for layer in self.stacked)

    def first(self, kind: LayerKind) -> Layer | None:
        """The uppermost layer of a kind."""
        return next((layer for layer in self.layers if layer.kind is kind), None)

    def _refuse_bad_water(self) -> None:
        if self.overflow and not 0 < self.overflow.diameter_mm <= 2000:
            said = _(
                "An overflow pipe of {diameter} mm cannot be drawn. Enter its diameter between 1 and 2000 mm."
            )
            raise ImpossibleRecordError(said.format(diameter=short(self.overflow.diameter_mm)))
        reuse = _(
            "The reuse depth of {height} mm lies outside the build-up of {depth} mm. "
            "Enter a height above the subgrade within the layers."
        )
        self._refuse_outside(self.reuse_depth_mm, reuse)
        invert = _(
            "The overflow invert of {height} mm lies outside the build-up of {depth} mm. "
            "Enter a height above the subgrade within the layers."
        )
        self._refuse_outside(self.overflow.invert_above_subgrade_mm if self.overflow else None, invert)

    def _refuse_outside(self, height_mm: float | None, said: str) -> None:
        if height_mm is not None and not 0 <= height_mm <= self.depth_mm:
            raise ImpossibleRecordError(said.format(height=short(height_mm), depth=short(self.depth_mm)))


def _refuse_bad_layer(layer: Layer) -> None:
    name = layer.kind.in_sentence
    thick = layer.thickness_mm
    needs_thickness = layer.kind in STACKED or layer.kind is LayerKind.JOINT_FILL
    if not isfinite(thick) or thick < 0 or (needs_thickness and thick == 0) or thick > 10_000:
        raise ImpossibleRecordError(
            # Translators: {layer} is a kind of layer, without an article, as "surface course".
            _(
                "The {layer} has a thickness of {thickness} mm. Enter more than 0 and at most 10000 mm."
            ).format(layer=name, thickness=short(thick))
        )
    if layer.porosity is not None and not 0 <= layer.porosity < 1:
        raise ImpossibleRecordError(
            _("The {layer} has a porosity of {porosity}. Enter a share of the volume, such as 0.40.").format(
                layer=name, porosity=short(layer.porosity)
            )
        )
    low, high = layer.stone_min_mm, layer.stone_max_mm
    if (low is not None and not low >= 0) or (high is not None and not high > 0):
        raise ImpossibleRecordError(
            _("The {layer} has a stone size that is not a positive number. Enter it in mm.").format(
                layer=name
            )
        )
    if low is not None and high is not None and low > high:
        raise ImpossibleRecordError(
            _("The {layer} has stone from {low} to {high} mm. Enter the smaller size first.").format(
                layer=name, low=short(low), high=short(high)
            )
        )
