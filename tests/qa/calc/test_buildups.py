"""Usual layers to start a record from."""

import pytest

from core.calc.nominal import inches_text
from core.calc.paving import SurfaceType, Traffic
from core.calc.units import UnitSystem
from qa.calc.buildups import LayerKind, typical_layers
from qa.calc.check_conflicts import ConflictKind, Recorded, conflicts_of
from qa.calc.check_model import HeaviestUse
from qa.calc.checks import BOUND_BEDS, checks_for

US = UnitSystem.US


def thickness(kind, layer, traffic=Traffic.CARS, system=UnitSystem.SI, **options):
    found = (one for one in typical_layers(kind, traffic, system, **options) if one.kind is layer)
    return next(found).thickness_mm


@pytest.mark.parametrize("surface_type", SurfaceType)
def test_every_surface_type_starts_with_its_course_and_ends_in_the_ground(surface_type):
    kinds = [layer.kind for layer in typical_layers(surface_type)]

    assert kinds[0] is LayerKind.SURFACE_COURSE
    assert kinds[-1] is LayerKind.SUBGRADE


def test_an_unknown_surface_type_is_refused():
    with pytest.raises(ValueError, match="lawn"):
        typical_layers("lawn")


# ICPI article on bases: units of 60 and 80 mm (2 3/8 and 3 1/8 in); trade article: 15, 18, 22 mm of resin-bound stone;
# ASTM C902 and C1272 (from memory): clay of 2 1/4 and 2 5/8 in; the others common practice, no source.
@pytest.mark.parametrize(
    ("kind", "traffic", "mm", "inches"),
    [
        ("picp", Traffic.FOOT, 60, "2 3/8"),
        ("picp", Traffic.CARS, 80, "3 1/8"),
        ("picp", Traffic.HEAVY, 100, "4"),
        ("clay", Traffic.FOOT, 60, "2 1/4"),
        ("clay", Traffic.CARS, 70, "2 5/8"),
        ("resin_bound", Traffic.FOOT, 15, "5/8"),
        ("resin_bound", Traffic.CARS, 18, "3/4"),
        ("resin_bound", Traffic.HEAVY, 22, "7/8"),
        ("pervious_concrete", Traffic.HEAVY, 200, "8"),
        ("porous_asphalt", Traffic.FOOT, 65, "2 1/2"),
    ],
)
def test_a_course_is_as_thick_as_its_traffic_asks_in_the_sizes_it_is_ordered_by(kind, traffic, mm, inches):
    course = LayerKind.SURFACE_COURSE

    assert thickness(kind, course, traffic) == mm
    assert inches_text(thickness(kind, course, traffic, US) / 25.4) == inches


def test_heavier_traffic_stands_on_a_thicker_subbase():
    depths = [thickness("picp", LayerKind.SUBBASE, traffic) for traffic in Traffic]

    assert depths == sorted(set(depths))


@pytest.mark.parametrize("kind", ["picp", "clay", "resin_joint", "concrete_grid", "plastic_grid"])
@pytest.mark.parametrize("traffic", Traffic)
@pytest.mark.parametrize("system", UnitSystem)
def test_a_joint_is_never_deeper_than_its_unit(kind, traffic, system):
    fill = thickness(kind, LayerKind.JOINT_FILL, traffic, system)

    assert 0 < fill <= thickness(kind, LayerKind.SURFACE_COURSE, traffic, system)


def test_clay_units_of_70_mm_are_filled_to_65_mm():
    assert thickness("clay", LayerKind.JOINT_FILL) == 65


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("traffic", Traffic)
@pytest.mark.parametrize("system", UnitSystem)
def test_what_is_proposed_meets_what_is_asked(kind, traffic, system):
    """Usual layers that fail the checks of their own surface would make a fool of whoever takes them."""
    layers = typical_layers(kind, traffic, system)
    recorded = Recorded({layer.kind: layer.thickness_mm for layer in layers if layer.thickness_mm})
    use = HeaviestUse.FOOT if traffic is Traffic.FOOT else HeaviestUse.VEHICLE

    refused = [
        conflict.text(system)
        for check in checks_for(kind, use)
        for conflict in conflicts_of(check, [], recorded, design_mm=None, complete=False)
        if conflict.kind is ConflictKind.ASKED
    ]

    assert refused == []


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("traffic", Traffic)
def test_every_size_proposed_in_inches_is_a_fraction_that_a_rule_has(kind, traffic):
    for layer in typical_layers(kind, traffic, US, bound_bed=kind in BOUND_BEDS):
        for size_mm in (layer.thickness_mm, layer.stone_min_mm, layer.stone_max_mm):
            assert size_mm is None or "." not in inches_text(size_mm / 25.4, 8)
        assert "mm" not in layer.material


@pytest.mark.parametrize("kind", BOUND_BEDS)
def test_a_bound_bed_takes_the_place_of_loose_bedding(kind):
    kinds = [layer.kind for layer in typical_layers(kind, bound_bed=True)]

    assert LayerKind.BOUND_BED in kinds
    assert LayerKind.BEDDING not in kinds
    assert kinds.index(LayerKind.BOUND_BED) < kinds.index(LayerKind.BASE)
