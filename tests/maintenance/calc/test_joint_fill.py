"""How much joint material a surface takes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import SurfaceType
from core.errors import ImpossibleRecordError
from maintenance.calc.joint_fill import CELL_SHARE, USUAL_UNIT, UnitSize, joint_fill, joint_share


def test_a_square_metre_of_pavers_by_hand():
    """10 mm joints round 200 x 100 mm: a unit takes 210 x 110 mm = 23 100 mm², 20 000 of them paver, 13.42 % joint.

    75 mm deep that is 10.06 L, of which 62 % stone of 2.65 kg/L: 16.53 kg, and a tenth more.
    """
    fill = joint_fill("picp", 1.0, 10.0, 75.0, 0.38)

    assert fill.share_of_area == pytest.approx(0.13420, abs=1e-5)
    assert fill.mass_kg == pytest.approx(16.537 * 1.1, rel=1e-3)
    assert fill.assumed == ("units of 200 × 100 mm",)


@given(st.floats(1.0, 40.0), st.integers(1, 12))
def test_the_share_is_what_a_field_of_units_leaves_open(joint, count):
    """Counted on a torus of count by count units, each with its joint to the right and below."""
    unit = UnitSize(200.0, 100.0)
    field = count * (unit.length_mm + joint) * count * (unit.width_mm + joint)
    paved = count * count * unit.length_mm * unit.width_mm

    assert joint_share(unit, joint) == pytest.approx((field - paved) / field)


@given(st.floats(0.1, 1e4), st.floats(10.0, 150.0), st.floats(0.05, 0.9))
def test_mass_goes_with_area_and_depth_and_falls_with_voids(area, depth, voids):
    one = joint_fill("clay", area, 8.0, depth, voids).mass_kg

    assert joint_fill("clay", 2 * area, 8.0, depth, voids).mass_kg == pytest.approx(2 * one)
    assert joint_fill("clay", area, 8.0, 2 * depth, voids).mass_kg == pytest.approx(2 * one)
    assert joint_fill("clay", area, 8.0, depth, voids + 0.05).mass_kg < one


def test_a_joint_that_is_not_recorded_is_said_to_be_assumed():
    assert joint_fill("picp", 1.0, None, 75.0, 0.38).assumed[-1] == "joints 8 mm wide"


@pytest.mark.parametrize("kind", list(SurfaceType))
def test_every_surface_has_joints_cells_or_neither(kind):
    fill = joint_fill(kind.value, 10.0, None, 60.0, 0.4)

    assert (fill is not None) == (kind in USUAL_UNIT or kind in CELL_SHARE)


@pytest.mark.parametrize(
    ("area", "depth", "voids"), [(0.0, 60.0, 0.4), (10.0, 0.0, 0.4), (10.0, 60.0, 0.0), (10.0, 60.0, 1.0)]
)
def test_sizes_that_cannot_be_are_refused_with_their_values(area, depth, voids):
    with pytest.raises(ImpossibleRecordError, match=f"got {area:g} m², {depth:g} mm and {voids:g}"):
        joint_fill("picp", area, 8.0, depth, voids)
