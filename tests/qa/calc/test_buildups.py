"""Usual layers to start a record from."""

import pytest

from core.calc.paving import SurfaceType
from qa.calc.buildups import LayerKind, typical_layers


@pytest.mark.parametrize("surface_type", SurfaceType)
def test_every_surface_type_starts_with_its_course_and_ends_in_the_ground(surface_type):
    kinds = [layer.kind for layer in typical_layers(surface_type)]

    assert kinds[0] is LayerKind.SURFACE_COURSE
    assert kinds[-1] is LayerKind.SUBGRADE


def test_an_unknown_surface_type_is_refused():
    with pytest.raises(ValueError, match="lawn"):
        typical_layers("lawn")
