"""Layers that a firm keeps to start other build-ups from, as they are stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from core.calc.payload import Payload
from qa.calc.buildups import LayerKind, TypicalLayer


@dataclass(frozen=True, slots=True)
class KeptLayers(Payload):
    """Layers from the top down."""

    SCHEMA: ClassVar[int] = 1

    layers: tuple[TypicalLayer, ...] = ()


def as_typical(layers: Iterable[Any]) -> tuple[TypicalLayer, ...]:
    """Recorded layers, in their order, without the surface they are of."""
    return tuple(
        TypicalLayer(
            kind=LayerKind(layer.kind),
            material=layer.material,
            thickness_mm=layer.thickness_mm,
            stone_min_mm=layer.stone_min_mm,
            stone_max_mm=layer.stone_max_mm,
            porosity=layer.porosity,
        )
        for layer in layers
    )
