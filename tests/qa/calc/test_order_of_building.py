"""Which check belongs to which part of the work, and where the work stops: the order in which a surface is built.

Common practice, no source: a thing is looked at while it can still be seen and put right.
"""

import pytest

from core.calc.paving import SurfaceType
from qa.calc.check_model import HeaviestUse, Stage
from qa.calc.checks import checks_for

GROUND = {
    "before_digging": "utilities_located runoff_kept_out",
    "subgrade": "subgrade_undisturbed subgrade_soil_rate subgrade_slope subgrade_level subgrade_clean "
    "water_table_separation",
    "geotextile": "geotextile_class geotextile_overlap geotextile_sides geotextile_sound",
    "overflow": "overflow_invert overflow_free observation_well surface_overflow",
    "subbase": "subbase_open_graded subbase_grading subbase_fines subbase_lift subbase_passes subbase_still "
    "subbase_thickness",
    "base": "base_open_graded base_grading base_fines base_lift base_passes base_still base_thickness",
    "edge": "edge_restraint",
}
ABOVE = {
    "bedding": "bedding_stone bedding_thickness bedding_flat bedding_loose bound_mix bound_temperature "
    "bound_thickness bound_drains asphalt_choker",
    "surface": "unit_thickness unit_proportion unit_cuts bond_line unit_seating bonding_agent bound_open_time "
    "resin_base_age resin_base_open resin_moisture resin_mix resin_temperature resin_depth concrete_base_wet "
    "concrete_density concrete_thickness concrete_voids asphalt_temperature asphalt_drain_off asphalt_rolling "
    "asphalt_thickness asphalt_voids grid_thickness grid_sound panel_locked panel_gap panel_anchored gravel_clean "
    "gravel_thickness",
    "joints": "joint_width open_area joint_stone joint_fill_level joint_refill_planned resin_joint_size "
    "resin_prewet resin_joint_temperature resin_not_tooled resin_film grid_fill_level grid_fill_open cell_stone "
    "cell_fill_level",
    "cure": "bound_cure resin_joint_dry resin_joint_foot resin_joint_vehicles resin_joint_tested resin_dry "
    "resin_foot resin_vehicles concrete_cover_time concrete_cure asphalt_opening asphalt_unsealed",
    "finish": "flatness lippage lippage_at_basins surface_slope openings",
    "acceptance": "surface_clean acceptance_spots acceptance_rate",
}
STAGE_OF = {key: stage for stage, keys in (GROUND | ABOVE).items() for key in keys.split()}

# Where the work stops on every surface: what the next layer hides, and what opens it to the public.
STOPS_ALL = {
    "utilities_located", "subgrade_undisturbed", "subgrade_soil_rate", "subgrade_clean", "geotextile_overlap",
    "overflow_invert", "overflow_free", "subbase_open_graded", "subbase_thickness", "base_open_graded",
    "base_thickness", "edge_restraint", "acceptance_spots", "acceptance_rate",
}  # fmt: skip
BOUND_BED = {"bound_mix", "bound_drains", "bound_thickness", "bonding_agent", "bound_cure"}
STOPS = {
    "picp": {"joint_stone"},
    "clay": {"joint_stone"},
    "resin_joint": {"resin_joint_size"},
    "resin_bound": {"resin_base_open"},
    "pervious_concrete": {"concrete_density"},
    "porous_asphalt": set(),
    "concrete_grid": set(),
    "plastic_grid": {"cell_stone"},
    "gravel": {"gravel_clean"},
}
# How an uneven surface is put right: what is laid in pieces is lifted, what is cast or rolled is not.
EVENED_BY = {
    "picp": "Lift and relay the units",
    "clay": "Lift and relay the units",
    "resin_joint": "before they are jointed",
    "resin_bound": "Cut the course out there",
    "pervious_concrete": "grinding closes the voids",
    "porous_asphalt": "a bad stretch is milled",
    "concrete_grid": "Lift and relay the units",
    "plastic_grid": "Take the panels up",
}


def every_check(kind, **asked):
    return [
        check
        for use in HeaviestUse
        for bound in (False, True)
        for check in checks_for(SurfaceType(kind), use, bound_bed=bound, **asked)
    ]


@pytest.mark.parametrize("kind", SurfaceType)
@pytest.mark.parametrize("cbr", [None, 0.3])
def test_each_check_is_made_in_the_part_of_the_work_in_which_it_can_be_seen(kind, cbr):
    for check in every_check(kind, subgrade_cbr=cbr):
        assert (check.key, check.stage) == (check.key, Stage(STAGE_OF[check.key]))


def test_no_check_stands_in_the_list_without_a_surface_that_has_it():
    assert {check.key for kind in SurfaceType for check in every_check(kind)} == STAGE_OF.keys()


@pytest.mark.parametrize("kind", STOPS)
def test_the_work_stops_at_what_the_next_layer_hides(kind):
    stops = {check.key for check in every_check(kind) if check.hold_point}

    assert stops - BOUND_BED == STOPS_ALL | STOPS[kind]


@pytest.mark.parametrize("cbr", [None, 0.3, 0.7, 2.0, 5.0])
def test_the_work_stops_at_the_joints_of_the_geotextile_on_any_soil(cbr):
    for check in every_check("picp", subgrade_cbr=cbr):
        if check.key == "geotextile_overlap":
            assert check.hold_point


@pytest.mark.parametrize("kind", EVENED_BY)
def test_an_uneven_surface_is_put_right_as_its_kind_allows(kind):
    said = {check.otherwise for check in every_check(kind) if check.key == "flatness"}

    assert len(said) == 1
    assert EVENED_BY[kind] in said.pop()


@pytest.mark.parametrize("kind", SurfaceType)
def test_checks_come_in_the_order_of_building(kind):
    order = list(Stage)
    for use in HeaviestUse:
        for bound in (False, True):
            stages = [order.index(check.stage) for check in checks_for(kind, use, bound_bed=bound)]
            assert stages == sorted(stages)
