"""The ring test is named by the standard that is written for the surface."""

import pytest

from core.calc.paving import SurfaceType, TestMethod
from qa.calc.methods import METHODS, facts_on
from qa.calc.standards import ring_standard


@pytest.mark.parametrize(
    ("surface_type", "named"),
    [
        # Scopes of the two standards: looked up. Use on porous asphalt: common practice.
        (SurfaceType.PERVIOUS_CONCRETE, "ASTM C1701/C1701M, written for in-place pervious concrete"),
        (SurfaceType.POROUS_ASPHALT, "ASTM C1701/C1701M, written for pervious concrete; on porous asphalt"),
        (SurfaceType.PICP, "ASTM C1781/C1781M, written for unit pavers"),
        (SurfaceType.CLAY, "ASTM C1781/C1781M"),
        (SurfaceType.CONCRETE_GRID, "ASTM C1781/C1781M"),
        (SurfaceType.RESIN_BOUND, "By the method of"),
        (SurfaceType.RESIN_JOINT, "By the method of"),
        (SurfaceType.PLASTIC_GRID, "By the method of"),
        (SurfaceType.GRAVEL, "By the method of"),
    ],
)
def test_a_standard_is_named_for_the_surface_it_is_written_for(surface_type, named):
    assert ring_standard(surface_type).citation.startswith(named)
    assert facts_on(TestMethod.RING, surface_type).source == ring_standard(surface_type)


def test_every_kind_of_surface_is_asked_about_and_other_methods_keep_their_source():
    assert all(ring_standard(kind).citation for kind in SurfaceType)
    assert facts_on(TestMethod.FRAME, SurfaceType.PICP) is METHODS[TestMethod.FRAME]
