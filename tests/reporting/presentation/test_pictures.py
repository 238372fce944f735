"""Drawings and charts of a snapshot in the reader's units."""

from dataclasses import replace
from uuid import uuid4

from core.calc.bounds import Bound
from core.calc.paving import SurfaceType
from qa.calc.buildups import LayerKind
from qa.calc.counts import Zone
from reporting.calc.parts import BuildUpPart, LayerPart, PlanPart, SpotPart
from reporting.calc.values import BoundedRate
from reporting.presentation.pictures import plan_of_spots, section_of

LAYERS = (
    LayerPart(LayerKind.SURFACE_COURSE, "pavers", 80.0, None, None, None),
    LayerPart(LayerKind.BASE, "stone", 254.0, 5.0, 25.0, 0.4),
)
BUILT = BuildUpPart(SurfaceType.PICP, LAYERS, None, None, None, None, seed=7)
PLAN = PlanPart(((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)), (0,), None, laid_of_units=True)
SPOT = SpotPart("A", Zone.EDGE, "", 5.0, 1.0, BoundedRate(254.0, Bound.BELOW))
KEY = uuid4()
AREA_M2 = 200.0


def test_the_section_is_drawn_in_the_units_of_the_reader():
    assert ">254</text>" in section_of(BUILT, "si", KEY).svg
    assert ">10</text>" in section_of(BUILT, "us", KEY).svg


def test_the_section_looks_the_same_each_time_and_has_fixed_colours_on_paper():
    assert section_of(BUILT, "si", KEY) == section_of(BUILT, "si", KEY)
    assert "var(--" in section_of(BUILT, "si", KEY).svg
    assert "var(--" not in section_of(BUILT, "si", KEY, for_paper=True).svg


def test_layers_that_cannot_be_drawn_say_why_and_none_say_nothing():
    impossible = replace(LAYERS[1], thickness_mm=99_999.0)

    assert "thick" in section_of(replace(BUILT, layers=(LAYERS[0], impossible)), "si", KEY).problem
    assert section_of(replace(BUILT, layers=()), "si", KEY).problem == ""


def test_the_plan_shows_what_the_ring_last_read_at_each_placed_spot():
    unplaced = replace(SPOT, label="Q", x_m=None, y_m=None)

    plan = plan_of_spots(PLAN, (SPOT, unplaced), "us", name="Yard", area_m2=AREA_M2, key=KEY)

    assert "&lt; 10 in/h" in plan.svg
    assert ">Q<" not in plan.svg


def test_without_an_outline_there_is_no_plan():
    assert plan_of_spots(None, (SPOT,), "si", name="Yard", area_m2=AREA_M2, key=KEY).svg == ""
