"""Where spots lie, in words: from which corners, in whose units, and what is said where nothing places them."""

import pytest

from qa.models import Outline
from qa.presentation.finding_spots import NO_CORNERS, NO_PLAN, NOT_PLACED, spots_found
from qa.presentation.plan import plan_picture
from qa.services import plans
from tests.factories import LocationFactory
from tests.qa.views.test_plans import YARD

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(firm):
    plans.save_plan(surface=firm.surface, plan=YARD, spots=(), keep_locations=True)
    return firm.surface


def where(surface, units="si"):
    return {place.label: place.where.replace("\u00a0", " ") for place in spots_found(surface, units).places}


def test_a_spot_is_told_by_two_corners_in_the_readers_units(yard):
    """Half way up a side of 25 m and 12 m off it: the root of 12² + 12.5² is 17.33 m, or 56.8 ft."""
    LocationFactory(surface=yard, label="A", x_m=12.0, y_m=12.5)

    assert where(yard)["A"] == "17.3 m from corner 4 and 17.3 m from corner 1"
    assert where(yard, "us")["A"] == "56.8 ft from corner 4 and 56.8 ft from corner 1"


def test_what_is_not_on_the_plan_or_all_but_on_a_side_is_said(yard):
    LocationFactory(surface=yard, label="A", x_m=None, y_m=None)

    assert where(yard)["A"] == NOT_PLACED
    assert NO_CORNERS.startswith("too near")


def test_a_surface_without_an_outline_has_no_corners_and_no_picture(firm):
    LocationFactory(surface=firm.surface, label="A", x_m=3.0, y_m=4.0)

    found = spots_found(firm.surface, "si")

    assert [place.where for place in found.places] == [NO_PLAN]
    assert found.picture.svg == ""


def test_an_outline_of_another_edition_is_said_and_nothing_fails(yard):
    LocationFactory(surface=yard, label="A", x_m=3.0, y_m=4.0)
    Outline.objects.filter(surface=yard).update(plan_json={"of": "another edition"})

    (place,) = spots_found(yard, "si").places

    assert "another edition" in place.where


def test_spots_that_are_no_longer_tested_are_left_out(yard):
    LocationFactory(surface=yard, label="A", x_m=3.0, y_m=4.0, retired=True)

    assert spots_found(yard, "si").places == ()


def test_corners_carry_their_numbers_on_this_plan_alone(yard):
    numbered, plain = spots_found(yard, "si").picture.svg, plan_picture(yard, "si").svg

    assert [f">{number}</text>" in numbered for number in (1, 2, 3, 4, 5)] == [True] * 4 + [False]
    assert ">4</text>" not in plain
