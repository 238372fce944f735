"""Layers that a firm keeps."""

from types import SimpleNamespace

import pytest

from core.calc.paving import SurfaceType
from core.errors import UnreadablePayloadError
from qa.calc.buildups import LayerKind, typical_layers
from qa.calc.kept_layers import KeptLayers, as_typical


@pytest.mark.parametrize("kind", SurfaceType.values)
def test_they_come_back_as_they_were_stored(kind):
    kept = KeptLayers(typical_layers(kind))

    assert KeptLayers.from_json(kept.to_json()) == kept


def test_of_recorded_layers_their_surface_is_left_out():
    row = SimpleNamespace(
        kind="base",
        material="stone",
        thickness_mm=100.0,
        stone_min_mm=5.0,
        stone_max_mm=25.0,
        porosity=0.4,
        surface=1,
    )

    (layer,) = as_typical([row])

    assert layer.kind is LayerKind.BASE
    assert (layer.material, layer.thickness_mm, layer.porosity) == ("stone", 100.0, 0.4)


@pytest.mark.parametrize(
    "stored", [None, {}, {"schema": 2, "layers": []}, {"schema": 1, "layers": [{"kind": "ice"}]}]
)
def test_what_is_none_is_refused(stored):
    with pytest.raises(UnreadablePayloadError):
        KeptLayers.from_json(stored)
