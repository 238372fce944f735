"""Each kind of trace in its right place, worked out by hand on a plot of a hundred units a side."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.presentation.stills.scales import Scale
from core.presentation.stills.traces import Plot, colour_of, drawn, hatch_of, range_ends, stacks, whole

ACROSS = Scale("linear", 0.0, 10.0, 0.0, 100.0)
UPWARD = Scale("linear", 0.0, 10.0, 100.0, 0.0)


def plot(*bars, x=ACROSS, y=UPWARD, **more):
    return Plot(x=x, y=y, key="k", bars=bars, **more)


def scatter(x, y, mode="lines", **more):
    return {"type": "scatter", "x": x, "y": y, "mode": mode, **more}


def bar(x, y, **more):
    return {"type": "bar", "x": x, "y": y, **more}


def shown(trace, number=0, on=None):
    """What is drawn of a trace, as elements."""
    return ElementTree.fromstring(f"<g>{drawn(trace, number, on or plot())}</g>")


def rects(svg):
    names = ("x", "y", "width", "height")
    return [tuple(float(one.get(name)) for name in names) for one in svg.iter("rect")]


# ---- Lines and areas ----


def test_a_line_goes_from_point_to_point_in_steps():
    (path,) = shown(scatter([0, 5, 10], [0, 10, 5]))

    assert path.get("d") == "M0 100l50-100 50 50"
    assert path.get("fill") == "none"


def test_a_line_is_three_quarters_as_wide_as_on_a_wide_screen():
    (usual,) = shown(scatter([0, 1], [0, 1]))
    (wide,) = shown(scatter([0, 1], [0, 1], line={"width": 4}))

    assert (usual.get("stroke-width"), wide.get("stroke-width")) == ("1.5", "3")


@pytest.mark.parametrize(
    ("name", "dashes"), [("dash", "7 5"), ("dot", "2 4"), ("dashdot", "8 4 2 4"), ("longdash", "12 6")]
)
def test_lines_are_told_apart_by_their_dashes(name, dashes):
    (path,) = shown(scatter([0, 1], [0, 1], line={"dash": name}))

    assert path.get("stroke-dasharray") == dashes


def test_a_solid_line_has_no_dashes():
    (path,) = shown(scatter([0, 1], [0, 1], line={"dash": "solid"}))

    assert path.get("stroke-dasharray") is None


def test_a_single_point_between_gaps_is_no_line():
    (path,) = shown(scatter([0, 1, 2, 3, 4], [1, None, 2, None, 3])) or (None,)

    assert path is None


def test_points_that_nobody_could_tell_apart_are_sent_once():
    (path,) = shown(scatter([0, 0.01, 0.02, 10], [0, 0, 0, 0]))

    assert path.get("d") == "M0 100l100 0"


def test_an_area_is_closed_and_needs_three_corners():
    area = {"fill": "toself", "fillcolor": "fan", "line": {"width": 0}}

    (path,) = shown(scatter([0, 10, 10], [0, 0, 10], **area))

    assert path.get("d") == "M0 100l100 0 0-100z"
    assert path.get("fill") == "fan"
    assert list(shown(scatter([0, 10], [0, 10], **area))) == []


def test_an_area_does_not_break_where_a_corner_is_missing():
    area = {"fill": "toself", "fillcolor": "fan", "line": {"width": 0}}

    (path,) = shown(scatter([0, 10, None, 10], [0, 0, 5, 10], **area))

    assert path.get("d") == "M0 100l100 0 0-100z"


def test_a_faint_trace_is_faint_as_a_whole_and_an_empty_one_leaves_nothing():
    (group,) = shown(scatter([0, 10], [0, 10], opacity=0.4))

    assert (group.tag, group.get("opacity")) == ("g", "0.4")
    assert drawn(scatter([], [], opacity=0.4), 0, plot()) == ""


# ---- Marks and words ----


def test_marks_lie_at_their_values_in_the_colour_of_the_trace():
    marks = shown(scatter([2, 4], [3, None], "markers", marker={"color": "test", "size": 12}))

    (only,) = marks.iter("circle")
    assert (only.get("cx"), only.get("cy"), only.get("r")) == ("20", "70", "4.5")
    assert (only.get("fill"), only.get("stroke")) == ("test", "test")


def test_the_edge_of_a_mark_has_a_colour_and_width_of_its_own():
    marker = {"color": "test", "line": {"color": "edge", "width": 4}}

    (only,) = shown(scatter([2], [3], "markers", marker=marker)).iter("circle")

    assert (only.get("stroke"), only.get("stroke-width")) == ("edge", "3")


def test_each_mark_may_have_a_size_of_its_own_and_a_missing_one_does_not_move_the_rest():
    marker = {"size": [8, 16, 24]}

    radii = [
        one.get("r")
        for one in shown(scatter([1, 2, 3], [1, None, 3], "markers", marker=marker)).iter("circle")
    ]

    assert radii == ["3", "9"]


def test_faint_marks_leave_their_line_as_it_is():
    svg = shown(scatter([0, 10], [0, 10], "lines+markers", marker={"opacity": 0.5}))

    line, marks = svg
    assert (line.tag, line.get("opacity")) == ("path", None)
    assert (marks.tag, marks.get("opacity")) == ("g", "0.5")


def test_words_stand_above_their_point_or_below_where_the_figure_says_so():
    svg = shown(
        scatter([2, 4], [5, 5], "text", text=["A", "B"], textposition=["top center", "bottom center"])
    )

    above, below = svg.iter("text")
    assert (above.text, above.get("x"), above.get("y")) == ("A", "20", "39")
    assert (below.text, below.get("x"), below.get("y")) == ("B", "40", "70")


def test_one_position_holds_for_all_words_and_a_point_without_a_place_has_none():
    svg = shown(scatter([2, 4], [5, None], "text", text=["A", "B"], textposition="bottom center"))

    assert [(one.text, one.get("y")) for one in svg.iter("text")] == [("A", "70")]


def test_names_that_look_like_markup_are_shown_and_never_run():
    typed = '<script>alert(1)</script> & "more"'
    svg = drawn(scatter([2], [5], "text", text=[typed]), 0, plot())

    assert "<script" not in svg
    assert next(ElementTree.fromstring(svg).iter()).text == typed


def test_a_name_the_figure_escaped_for_its_library_is_not_escaped_twice():
    svg = shown(scatter([2], [5], "text", text=["A &amp; B &lt;1&gt;"]))

    assert next(svg.iter("text")).text == "A & B <1>"


def test_colours_that_a_figure_names_cannot_leave_their_attribute():
    svg = drawn(scatter([0, 10], [0, 10], line={"color": 'red" onload="x'}), 0, plot())

    (path,) = ElementTree.fromstring(f"<g>{svg}</g>")
    assert path.get("stroke") == 'red" onload="x'
    assert path.get("onload") is None


# ---- Ranges ----


def test_a_range_reaches_as_far_up_and_down_as_it_says_with_a_cap_at_either_end():
    said = {"array": [2], "arrayminus": [1], "color": "range"}

    (path,) = shown(scatter([5], [5], "text", error_y=said))

    assert path.get("d") == "M50.0 60.0V30.0M47.0 60.0h6M47.0 30.0h6"
    assert path.get("stroke") == "range"


def test_a_range_along_the_other_axis_lies_level():
    (path,) = shown(scatter([5], [5], "text", error_x={"array": [2], "arrayminus": [1]}))

    assert path.get("d") == "M40.0 50.0H70.0M40.0 47.0v6M70.0 47.0v6"


def test_a_range_with_one_number_is_as_wide_on_both_sides():
    assert list(range_ends(scatter([1], [5.0], error_y={"array": [2]}), "error_y")) == [((3.0, 7.0), 1)]


def test_a_point_of_which_an_end_is_not_known_has_no_range():
    trace = scatter(
        [1, 2, 3, 4], [5.0, None, 5.0, 5.0], error_y={"array": [1, 1, None, 2], "arrayminus": [1, 1, 1, 2]}
    )

    assert list(range_ends(trace, "error_y")) == [((4.0, 6.0), 1), ((3.0, 7.0), 4)]


def test_a_range_down_to_nought_has_no_place_on_a_scale_of_powers():
    powers = Scale("log", 0.0, 2.0, 100.0, 0.0)
    trace = scatter([5, 6], [10, 10], "text", error_y={"array": [90, 90], "arrayminus": [10, 9]})

    (path,) = shown(trace, on=plot(y=powers))

    assert path.get("d") == "M60.0 100.0V0.0M57.0 100.0h6M57.0 0.0h6"


# ---- Scales of their own ----


def test_on_a_scale_of_powers_equal_ratios_are_equally_far_apart():
    powers = Scale("log", 0.0, 4.0, 100.0, 0.0)

    (path,) = shown(scatter([0, 5, 10], [1, 100, 10_000]), on=plot(y=powers))

    assert path.get("d") == "M0 100l50-50 50-50"


def test_a_value_of_nought_breaks_a_line_on_a_scale_of_powers():
    powers = Scale("log", 0.0, 2.0, 100.0, 0.0)

    (path,) = shown(scatter([0, 1, 5, 6, 7], [1, 10, 0, 10, 100]), on=plot(y=powers))

    assert path.get("d") == "M0 100l10-50M60 50l10-50"


def test_a_trace_of_the_second_axis_is_read_on_it_and_on_the_first_where_there_is_none():
    second = Scale("linear", 0.0, 100.0, 100.0, 0.0)
    trace = scatter([0, 10], [10, 10], yaxis="y2")

    assert plot(y2=second).heights(trace) is second
    assert plot().heights(trace) is UPWARD
    assert plot(y2=second).heights(scatter([0], [0])) is UPWARD


# ---- Bars ----


def test_a_single_bar_fills_four_fifths_of_its_room_about_its_value():
    trace = bar([5], [4])

    assert rects(shown(trace, on=plot(trace))) == [(46.0, 60.0, 8.0, 40.0)]


def test_two_kinds_of_bars_share_the_room_and_lie_in_their_order():
    left, right = bar([5], [4]), bar([5], [10])
    both = plot(left, right)

    assert rects(shown(left, on=both)) == [(46.0, 60.0, 4.0, 40.0)]
    assert rects(shown(right, on=both)) == [(50.0, 0.0, 4.0, 100.0)]


def test_equal_bars_are_still_told_apart_by_their_place():
    left, right = bar([5], [4]), bar([5], [4])

    assert rects(shown(left, on=plot(left, right))) != rects(shown(right, on=plot(left, right)))


def test_stacked_bars_begin_where_the_one_below_ends():
    below, above = bar([5], [4]), bar([5], [3])
    both = plot(below, above, is_stacked=True)

    assert rects(shown(below, on=both)) == [(46.0, 60.0, 8.0, 40.0)]
    assert rects(shown(above, on=both)) == [(46.0, 30.0, 8.0, 30.0)]


def test_a_level_bar_is_as_long_as_its_value_and_lies_at_its_name():
    names = Scale("category", -0.5, 1.5, 0.0, 100.0, ("a", "b"))
    trace = bar([4, 8], ["a", "b"], orientation="h")

    found = rects(shown(trace, on=plot(trace, y=names)))

    assert found == [(0.0, 5.0, 40.0, 40.0), (0.0, 55.0, 80.0, 40.0)]


def test_a_bar_below_nought_hangs_from_it():
    depths = Scale("linear", -10.0, 10.0, 100.0, 0.0)
    trace = bar([5], [-4])

    assert rects(shown(trace, on=plot(trace, y=depths))) == [(46.0, 50.0, 8.0, 20.0)]


@pytest.mark.parametrize("value", [0, None, 0.001])
def test_a_bar_too_short_to_be_seen_is_not_drawn(value):
    trace = bar([5], [value])

    assert rects(shown(trace, on=plot(trace))) == []


def test_a_bar_of_a_name_that_the_axis_has_not_is_not_drawn():
    names = Scale("category", -0.5, 0.5, 0.0, 100.0, ("a",))
    trace = bar(["a", "z"], [4, 4])

    assert len(rects(shown(trace, on=plot(trace, x=names)))) == 1


def test_a_narrower_gap_makes_wider_bars():
    trace = bar([5], [4])

    assert rects(shown(trace, on=plot(trace, gap=0.5))) == [(47.5, 60.0, 5.0, 40.0)]


def test_a_bar_may_carry_a_range_about_its_end():
    trace = bar([5], [4], error_y={"array": [1]})

    path = next(shown(trace, on=plot(trace)).iter("path"))

    assert path.get("d").startswith("M50.0 70.0V50.0")


def test_the_hatches_of_two_charts_and_two_traces_never_share_an_id():
    trace = bar([5], [4], marker={"pattern": {"shape": "x"}})
    first, second = Plot(ACROSS, UPWARD, "a", bars=[trace]), Plot(ACROSS, UPWARD, "b", bars=[trace])

    ids = [
        re.findall(r'id="([^"]+)"', drawn(trace, number, on)) for number in (0, 1) for on in (first, second)
    ]

    assert ids == [["a-hatch-0"], ["b-hatch-0"], ["a-hatch-1"], ["b-hatch-1"]]
    assert 'fill="url(#b-hatch-1)"' in drawn(trace, 1, second)


@pytest.mark.parametrize(
    ("marker", "path"),
    [
        ({"pattern": {"shape": "-"}}, "M0 3H6"),
        ({"pattern": {"shape": ""}}, ""),
        ({"pattern": {"shape": "+"}}, ""),
        ({}, ""),
    ],
)
def test_a_hatch_that_is_not_known_is_none(marker, path):
    assert hatch_of(bar([1], [1], marker=marker)) == path


LENGTHS = st.lists(st.floats(0, 1000), min_size=3, max_size=3)


@settings(max_examples=50, deadline=None)
@given(st.lists(LENGTHS, min_size=1, max_size=5))
def test_a_stack_is_as_high_as_its_parts_together_without_gap_or_overlap(lengths):
    bars = [bar(["a", "b", "c"], each) for each in lengths]

    found = stacks(bars, is_stacked=True)

    for place in range(3):
        column = [reach[place] for reach in found]
        assert column[0][0] == 0.0
        assert all(above[0] == below[1] for below, above in pairwise(column))
        assert column[-1][1] == pytest.approx(sum(each[place] for each in lengths))


@settings(max_examples=50, deadline=None)
@given(st.lists(LENGTHS, min_size=1, max_size=5))
def test_bars_that_are_not_stacked_all_begin_at_nought(lengths):
    found = stacks([bar(["a", "b", "c"], each) for each in lengths], is_stacked=False)

    assert found == [[(0.0, length) for length in each] for each in lengths]


# ---- Colours ----


@pytest.mark.parametrize(
    ("trace", "number", "colour"),
    [
        ({"marker": {"color": "m"}, "line": {"color": "l"}}, 0, "m"),
        ({"line": {"color": "l"}, "fillcolor": "f"}, 0, "l"),
        ({"fillcolor": "f"}, 0, "f"),
        ({}, 0, "var(--chart-1)"),
        ({}, 5, "var(--chart-6)"),
        ({}, 6, "var(--chart-1)"),
        ({"marker": {"color": ["a", "b"]}}, 1, "var(--chart-2)"),
    ],
)
def test_a_trace_is_known_by_one_colour(trace, number, colour):
    assert colour_of(trace, number) == colour


def test_only_points_with_both_values_have_a_place():
    assert whole([(1.0, None), (None, 2.0), (3.0, 4.0)]) == [(3.0, 4.0)]
