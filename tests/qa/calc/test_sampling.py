"""How many readings settle a check. The shares of the area are common practice, no source, but for cores."""

from dataclasses import replace
from math import sqrt

import pytest

from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from qa.calc.checks import checks_for
from qa.calc.outlines import SurfacePlan
from qa.calc.sampling import BY_EACH, Extent, readings_needed

SI, US = UnitSystem.SI, UnitSystem.US


def check(key, kind=SurfaceType.PICP):
    return next(c for c in checks_for(kind) if c.key == key)


# Worked by hand: areas in m² over 200, 500, 1000 and rounded up, with the least number; edges of a square in m.
@pytest.mark.parametrize(
    ("key", "area_m2", "readings"),
    [
        ("bedding_thickness", 1640.0, 9),
        ("bedding_thickness", 600.0, 3),
        ("bedding_thickness", 601.0, 4),
        ("bedding_thickness", 20.0, 3),
        ("joint_width", 1000.0, 5),
        ("joint_width", 1001.0, 6),
        ("joint_width", 1640.0, 9),
        ("base_grading", 1640.0, 2),
        ("subgrade_soil_rate", 1640.0, 4),
        ("edge_restraint", 1640.0, 4),  # 162 m of edge in lengths of 50 m
        ("utilities_located", 1640.0, 1),
        ("surface_clean", 1640.0, 1),
    ],
)
def test_readings_grow_with_the_area(key, area_m2, readings):
    assert readings_needed(check(key), Extent.of_area(area_m2), SI).readings == readings


# ACI 522.1 (from memory): three cores for each 5,000 ft² or part of it; 5,000 ft² are 464.5 m².
@pytest.mark.parametrize(("area_ft2", "cores"), [(100, 3), (5000, 3), (5001, 6), (12_000, 9)])
def test_cores_are_those_of_the_specification(area_ft2, cores):
    needed = readings_needed(
        check("concrete_voids", SurfaceType.PERVIOUS_CONCRETE), Extent.of_area(area_ft2 * 0.09290304), US
    )

    assert needed.readings == cores
    assert "ACI 522.1" in needed.basis
    assert "from memory" not in needed.basis


def test_each_lift_is_read_at_its_places():
    needed = readings_needed(check("base_lift"), Extent.of_area(1640.0), SI, lifts=2)

    assert needed.readings == 8
    assert needed.basis.startswith("In each of 2 lifts: 1 for every 500 m² or part of it")


def test_a_firm_that_works_in_feet_counts_by_feet():
    needed = readings_needed(check("flatness"), Extent.of_area(17_000 * 0.09290304), US)

    assert needed.readings == 9
    assert needed.basis == "1 for every 2,000 ft² or part of it, at least 3 (common practice, no source)."


def test_an_edge_that_was_drawn_is_measured_and_not_guessed():
    long = Extent(400.0, SurfacePlan(((0, 0), (100, 0), (100, 4), (0, 4))).edge_m)

    assert long.edge_m == 208.0
    assert Extent.of_area(400.0).edge_m == 4 * sqrt(400.0)
    assert readings_needed(check("edge_restraint"), long, SI).readings == 5


# Stretches of 50 m or 150 ft: 300 m are 6 of the one, and 984.25 ft 7 of the other; 600 ft (182.88 m) are 4.
@pytest.mark.parametrize(
    ("edge_m", "si", "us"),
    [(300.0, 6, 7), (182.88, 4, 4), (183.0, 4, 5), (200.0, 4, 5), (200.1, 5, 5), (3.0, 1, 1)],
)
def test_an_edge_is_counted_in_stretches_of_metres_or_of_feet(edge_m, si, us):
    found = [readings_needed(check("edge_restraint"), Extent(1000.0, edge_m), system) for system in (SI, US)]

    assert [one.readings for one in found] == [si, us]
    assert (
        found[0].basis == "1 for every 50 m of edge or part of it, at least 1 (common practice, no source)."
    )
    assert (
        found[1].basis == "1 for every 150 ft of edge or part of it, at least 1 (common practice, no source)."
    )


@pytest.mark.parametrize("kind", SurfaceType)
def test_every_thing_that_is_read_one_by_one_has_its_share_but_those_whose_number_nobody_knows(kind):
    each = {c.each for bound in (False, True) for c in checks_for(kind, bound_bed=bound)} - {""}

    assert each - set(BY_EACH) <= {"well", "frame"}


def test_a_check_of_the_job_s_own_word_is_settled_by_one():
    own = replace(check("flatness"), each="gully")

    assert readings_needed(own, Extent.of_area(5000.0), SI).readings == 1
