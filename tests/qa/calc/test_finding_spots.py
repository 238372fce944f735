"""Distances from two corners: worked by hand, and found back by drawing the circles."""

from math import hypot, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Point, Polygon

from qa.calc.finding_spots import FromCorner, from_corners, mirrored

YARD = ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0))
ELBOW = ((0.0, 0.0), (20.0, 0.0), (20.0, 5.0), (5.0, 5.0), (5.0, 20.0), (0.0, 20.0))


def circles_meet(one, r, two, s):
    """Both points at a distance r from one and s from two (the textbook construction)."""
    d = hypot(two[0] - one[0], two[1] - one[1])
    a = (r * r - s * s + d * d) / (2 * d)
    h = sqrt(max(0.0, r * r - a * a))
    ux, uy = (two[0] - one[0]) / d, (two[1] - one[1]) / d
    mid = one[0] + a * ux, one[1] + a * uy
    return (mid[0] - h * uy, mid[1] + h * ux), (mid[0] + h * uy, mid[1] - h * ux)


def test_a_spot_six_and_eight_metres_from_the_ends_of_a_ten_metre_side_crosses_at_a_right_angle():
    """3-4-5 twice over: by hand 3.6 along and 4.8 across."""
    outline = ((0.0, 0.0), (10.0, 0.0), (10.0, 60.0), (0.0, 60.0))

    assert from_corners(outline, (3.6, 4.8)) == (
        FromCorner(1, pytest.approx(6.0)),
        FromCorner(2, pytest.approx(8.0)),
    )


def test_the_last_side_goes_back_to_the_first_corner():
    spot = (15.0, 15.0)  # a right angle over the left side, which is 30 m long

    one, two = from_corners(YARD, spot)

    assert (one.corner, two.corner) == (4, 1)
    assert one.distance_m == two.distance_m == pytest.approx(15.0 * sqrt(2))


def test_of_two_sides_with_wide_crossings_the_shorter_tapes_are_taken():
    """Over the long lower side the tapes would cross at nearly a right angle, but be 45 m and 44 m long."""
    long = ((0.0, 0.0), (40.0, 0.0), (40.0, 60.0), (0.0, 60.0))

    one, two = from_corners(long, (21.0, 40.0))

    assert {one.corner, two.corner} == {3, 4}
    assert max(one.distance_m, two.distance_m) < 30.0


def test_of_sides_alike_the_nearer_corners_are_taken():
    long = ((0.0, 0.0), (100.0, 0.0), (100.0, 10.0), (0.0, 10.0))

    one, two = from_corners(long, (5.0, 5.0))  # right angles over the left side alone

    assert {one.corner, two.corner} == {4, 1}


def test_a_side_whose_mirror_image_lies_on_the_surface_is_not_used():
    """In an elbow the inner sides have the surface on both sides of their line."""
    spot = (2.5, 7.0)

    one, two = from_corners(ELBOW, spot)

    side = (ELBOW[one.corner - 1], ELBOW[two.corner - 1])
    assert not Polygon(ELBOW).contains(Point(mirrored(side, spot)))


def test_a_spot_on_a_corner_is_told_from_two_others():
    one, two = from_corners(YARD, (0.0, 0.0))

    assert 1 not in (one.corner, two.corner)


def test_a_spot_that_no_side_places_has_none():
    """All but on the only line there is: a sliver of a surface, whose tapes would lie on one another."""
    sliver = ((0.0, 0.0), (100.0, 0.0), (100.0, 0.02), (0.0, 0.02))

    assert from_corners(sliver, (50.0, 0.01)) is None


def test_a_mirror_image_is_as_far_from_both_ends():
    side, spot = ((1.0, 2.0), (7.0, 5.0)), (3.0, 9.0)
    image = mirrored(side, spot)

    for end in side:
        assert hypot(end[0] - spot[0], end[1] - spot[1]) == pytest.approx(
            hypot(end[0] - image[0], end[1] - image[1])
        )
    assert mirrored(side, image) == pytest.approx(spot)


@pytest.mark.parametrize("outline", [YARD, ELBOW])
@given(st.floats(0.3, 39.7), st.floats(0.3, 29.7))
def test_who_draws_both_circles_finds_the_spot_and_no_other_on_the_surface(outline, x, y):
    whole = Polygon(outline)
    assume(whole.contains(Point(x, y)))
    found = from_corners(outline, (x, y))
    assume(found is not None)
    one, two = found

    ends = outline[one.corner - 1], outline[two.corner - 1]
    meet = circles_meet(ends[0], one.distance_m, ends[1], two.distance_m)

    on_it = [p for p in meet if whole.buffer(1e-6).contains(Point(p))]
    assert any(hypot(p[0] - x, p[1] - y) < 1e-4 for p in on_it)
    assert all(hypot(p[0] - x, p[1] - y) < 1e-3 for p in on_it)
