"""Marks of a still chart: each about its place, as wide as it is asked to be, and told apart by form."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.presentation.stills.symbols import POLYGONS, STROKES, symbol


def mark(name, x=50.0, y=40.0, size=10.0, colour="ink", **more):
    return ElementTree.fromstring(symbol(name, x, y, size, colour, **more))


def corners(path):
    """The corners of a closed path that is written in steps."""
    numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", path.removesuffix("z"))]
    (x, y), steps = numbers[:2], numbers[2:]
    found = [(x, y)]
    for dx, dy in zip(steps[::2], steps[1::2], strict=True):
        x, y = round(x + dx, 1), round(y + dy, 1)
        found.append((x, y))
    return found


def test_a_square_has_its_corners_nine_tenths_of_the_half_width_from_its_middle():
    drawn = mark("square")

    assert corners(drawn.get("d")) == [(45.5, 35.5), (54.5, 35.5), (54.5, 44.5), (45.5, 44.5)]
    assert drawn.get("d").endswith("z")


def test_a_triangle_points_where_its_name_says():
    up, down = (corners(mark(f"triangle-{way}").get("d")) for way in ("up", "down"))
    left, right = (corners(mark(f"triangle-{way}").get("d")) for way in ("left", "right"))

    assert up[0] == (50.0, 34.5)
    assert down[0] == (50.0, 45.5)
    assert left[0] == (44.5, 40.0)
    assert right[0] == (55.5, 40.0)


def test_a_cross_is_drawn_of_lines_alone_that_stay_as_wide_as_asked():
    drawn = mark("x", stroke_width=1.6)

    assert drawn.get("transform") == "translate(50.0 40.0) scale(5.00)"
    assert drawn.get("fill") == "none"
    assert float(drawn.get("stroke-width")) * 5.0 == pytest.approx(1.6)


def test_a_name_that_is_not_known_is_a_disc_of_half_the_size():
    drawn = mark("hexagram")

    assert (drawn.get("cx"), drawn.get("cy"), drawn.get("r")) == ("50", "40", "5")
    assert (drawn.get("fill"), drawn.get("stroke")) == ("ink", "ink")


@pytest.mark.parametrize("name", ["circle", "diamond", "square", "star-square"])
def test_an_open_mark_shows_what_lies_behind_it_even_where_a_filling_is_named(name):
    drawn = mark(f"{name}-open", fill="paper")

    assert drawn.get("fill") == "none"
    assert drawn.get("stroke") == "ink"


def test_a_filling_of_its_own_leaves_the_outline_its_colour():
    drawn = mark("diamond", fill="paper")

    assert (drawn.get("fill"), drawn.get("stroke")) == ("paper", "ink")


def test_no_two_marks_look_alike():
    drawings = [
        symbol(name, 0.0, 0.0, 20.0, "ink") for name in (*POLYGONS, *STROKES, "circle", "circle-open")
    ]

    assert len(set(drawings)) == len(drawings)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(POLYGONS)), st.floats(-500, 500), st.floats(-500, 500), st.floats(4.0, 40.0))
def test_no_corner_lies_further_out_than_a_little_over_half_the_size(name, x, y, size):
    for cx, cy in corners(mark(name, x, y, size).get("d")):
        assert abs(cx - x) <= 0.6 * size + 0.3
        assert abs(cy - y) <= 0.6 * size + 0.3
