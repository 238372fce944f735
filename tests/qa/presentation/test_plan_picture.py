"""The plan of a surface as a picture: what stands beside it, and what is said where there is none."""

import pytest

from core.calc.bounds import Bound
from core.calc.payload import UNREADABLE
from qa.calc.counts import Spot, Zone
from qa.calc.outlines import SurfacePlan
from qa.calc.rounds import Rate
from qa.models import Outline
from qa.presentation.plan import drawn_plan, marks_of, note_of, plan_picture, spot_rows
from tests.factories import InfiltrationTestFactory, LocationFactory, RoundFactory
from tests.maintenance.selectors.test_histories import save_yard


def test_without_an_outline_there_is_neither_picture_nor_problem(firm):
    picture = plan_picture(firm.surface, "si")

    assert (picture.svg, picture.problem, picture.note) == ("", "", "")


def test_an_outline_of_another_edition_is_said_to_be_lost_to_nobody(firm):
    save_yard(firm.surface)
    Outline.objects.update(plan_json={"schema": 99})

    picture = plan_picture(firm.surface, "si")

    assert (picture.svg, picture.problem) == ("", UNREADABLE)


def test_corners_on_one_line_are_said_to_enclose_nothing():
    line = SurfacePlan(((0.0, 0.0), (5.0, 0.0), (9.0, 0.0)))

    picture = drawn_plan(line, [], "si", name="Yard", area_m2=9.0, jointed=True, id_prefix="a")

    assert picture.svg == ""
    assert "its corners lie on one line" in picture.problem


@pytest.mark.parametrize(("units", "drawn"), [("si", "1000 m²"), ("us", "10 800 ft²")])
def test_an_outline_of_another_area_than_recorded_says_both(firm, units, drawn):
    save_yard(firm.surface)
    firm.surface.area_m2 = 500.0

    note = plan_picture(firm.surface, units).note.replace("\u202f", " ")

    assert note.startswith(f"The outline encloses {drawn}, but the surface is recorded with ")


@pytest.mark.parametrize(
    ("jointed", "shape"), [(True, "<rect"), (False, "<circle")], ids=["laid of units", "one piece"]
)
def test_the_ground_tells_units_from_one_piece(jointed, shape):
    yard = SurfacePlan(((0.0, 0.0), (9.0, 0.0), (9.0, 5.0)))

    picture = drawn_plan(yard, [], "si", name="Yard", area_m2=22.5, jointed=jointed, id_prefix="a")

    pattern = picture.svg.partition("<pattern")[2].partition("</pattern>")[0]
    assert pattern.count(shape) > 1


@pytest.mark.parametrize(
    ("rate", "note"),
    [
        (None, ""),
        (Rate(900.0, Bound.EXACT), "900 mm/h"),
        (Rate(900.0, Bound("<")), "< 900 mm/h"),
        (Rate(900.0, Bound(">")), "> 900 mm/h"),
    ],
)
def test_a_rate_under_a_mark_says_whether_it_is_a_bound(rate, note):
    assert note_of(rate, "si").replace("\u00a0", " ") == note


def test_only_placed_locations_are_marked_each_with_its_last_rate(firm):
    placed = LocationFactory(surface=firm.surface, label="A", zone="low", x_m=1.0, y_m=2.0)
    LocationFactory(surface=firm.surface, label="B")
    test = InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), location=placed)

    (mark,) = marks_of(firm.surface.locations.all(), "si")

    assert (mark.label, mark.zone, mark.x_m, mark.y_m) == ("A", Zone.LOW, 1.0, 2.0)
    assert mark.note == note_of(Rate(test.rate_mm_h, Bound.EXACT), "si")


@pytest.mark.parametrize(("units", "x", "y"), [("si", "3.05", "6.1"), ("us", "10", "20")])
def test_proposed_spots_are_numbered_and_placed_in_the_readers_units(units, x, y):
    rows = spot_rows([Spot(3.048, 6.096, Zone.EDGE), Spot(0.0, 0.0, Zone.LOW)], units)

    assert [row[:2] for row in rows] == [("new 1", "edge"), ("new 2", "low")]
    assert (float(rows[0][2]), float(rows[0][3])) == pytest.approx((float(x), float(y)), abs=0.01)
