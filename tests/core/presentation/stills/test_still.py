"""The first picture of a chart: what of a figure is drawn, and how it is told apart and read."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from core.presentation.lettering import text_width
from core.presentation.plotting import Figure
from core.presentation.stills.still import still
from core.presentation.stills.traces import LETTERS

SVG = "{http://www.w3.org/2000/svg}"


def picture(*traces, **layout):
    figure = Figure()
    for trace in traces:
        (figure.add_bar if trace.pop("bar", False) else figure.add_scatter)(**trace)
    figure.update_layout(**layout)
    return ElementTree.fromstring(still(figure.plain(), "c"))


def words(svg):
    return [node.text for node in svg.iter(f"{SVG}text")]


def view(svg):
    """What is drawn inside the plot."""
    return svg.find(f"{SVG}g[@clip-path]")


def line(**more):
    return {"x": [0, 1, 2], "y": [0.0, 5.0, 10.0], "mode": "lines", "name": "rate", **more}


def bars(**more):
    return {"bar": True, "x": ["Jan", "Feb"], "y": [4.0, 2.0], "name": "done", **more}


def test_a_figure_without_traces_has_no_picture():
    assert still({"data": [], "layout": {}}, "c") == ""


def test_the_picture_takes_its_words_from_the_title_and_summary_of_its_chart():
    svg = picture(line())

    assert svg.get("role") == "img"
    assert (svg.get("aria-labelledby"), svg.get("aria-describedby")) == ("c-title", "c-summary")


def test_colours_stay_named_so_that_one_drawing_serves_day_night_and_paper():
    text = ElementTree.tostring(
        picture(line(line={"color": "var(--chart-limit)"}), line()), encoding="unicode"
    )

    assert 'stroke="var(--chart-limit)"' in text
    assert 'stroke="var(--chart-2)"' in text
    assert not re.search(r"#[0-9a-f]{6}", text)


def test_a_line_breaks_where_a_value_is_missing():
    whole = view(picture(line())).find(f"{SVG}path").get("d")
    broken = view(picture({"x": [0, 1, 2, 3, 4], "y": [1, 2, None, 3, 4], "mode": "lines"})).find(
        f"{SVG}path"
    )

    assert whole.count("M") == 1
    assert broken.get("d").count("M") == 2


def test_a_dashed_line_is_dashed_and_a_line_of_no_width_not_drawn():
    dashed = view(picture(line(line={"dash": "dash"}))).find(f"{SVG}path")
    none = view(picture(line(line={"width": 0})))

    assert dashed.get("stroke-dasharray") == "7 5"
    assert none.find(f"{SVG}path") is None


def test_an_area_is_filled_with_the_colour_of_the_fan():
    fan = line(x=[0, 1, 1, 0], y=[1, 2, 4, 3], fill="toself", fillcolor="var(--chart-fan)", line={"width": 0})

    assert [path.get("fill") for path in view(picture(fan)).iter(f"{SVG}path")] == ["var(--chart-fan)"]


def test_each_point_has_the_mark_and_size_that_the_figure_names_for_it():
    marks = {"symbol": ["diamond", "x", "hexagon"], "size": [8, 8, 16], "color": "var(--chart-test)"}
    shown = view(picture(line(mode="markers", marker=marks)))

    assert len(shown.findall(f".//{SVG}path")) == 2
    assert shown.find(f".//{SVG}circle").get("r") == "6"


def test_an_open_mark_is_not_filled():
    shown = view(picture(line(mode="markers", marker={"symbol": "diamond-open"})))

    assert {path.get("fill") for path in shown.iter(f"{SVG}path")} == {"none"}


def test_stacked_bars_stand_on_one_another_and_others_side_by_side():
    stacked = list(view(picture(bars(), bars(), barmode="stack")).iter(f"{SVG}rect"))
    beside = list(view(picture(bars(), bars())).iter(f"{SVG}rect"))

    first, above = stacked[0], stacked[2]
    assert first.get("x") == above.get("x")
    assert float(above.get("y")) + float(above.get("height")) == pytest.approx(
        float(first.get("y")), abs=0.11
    )
    assert beside[0].get("x") != beside[2].get("x")
    assert beside[0].get("y") == beside[2].get("y")


def test_a_bar_is_as_long_as_its_value_says():
    first, second = view(picture(bars(), yaxis={"rangemode": "tozero"})).iter(f"{SVG}rect")

    assert float(first.get("height")) == pytest.approx(2 * float(second.get("height")), abs=0.2)


def test_level_bars_have_their_names_above_them():
    svg = picture(bars(x=[1.0, 3.0], y=["left", "right"], orientation="h"))
    first, second = view(svg).iter(f"{SVG}rect")

    assert float(second.get("width")) == pytest.approx(3 * float(first.get("width")), abs=0.2)
    assert {"left", "right"} <= set(words(svg))


def test_a_hatched_bar_is_told_apart_without_its_colour_in_the_legend_too():
    hatched = bars(marker={"color": "var(--chart-2)", "pattern": {"shape": "/"}})
    svg = picture(hatched, showlegend=True)

    assert view(svg).find(f"{SVG}rect").get("fill") == "url(#c-hatch-0)"
    assert svg.find(f".//{SVG}pattern").get("id") == "c-hatch-0"
    assert ElementTree.tostring(svg, encoding="unicode").count('d="M0 6L6 0"') > 1


def test_ranges_have_a_bar_from_end_to_end():
    ranged = line(mode="markers", error_y={"type": "data", "array": [1, 1, 1], "arrayminus": [2, 2, 2]})
    spans = view(picture(ranged)).find(f"{SVG}path").get("d")

    assert spans.count("V") == 3


def test_lines_across_the_plot_and_words_at_a_place_are_shown():
    figure = Figure()
    figure.add_scatter(**line())
    figure.add_vline(x=1, line={"color": "var(--chart-limit)", "dash": "dash"})
    figure.add_hline(y=5.0)
    figure.add_annotation(x=1, y=0.98, yref="paper", yanchor="top", text="limit &lt; 5", showarrow=False)
    svg = ElementTree.fromstring(still(figure.plain(), "c"))

    assert "limit < 5" in words(svg)
    assert [path.get("stroke") for path in view(svg).findall(f"{SVG}path")][:2] == [
        "var(--chart-limit)",
        "var(--chart-soft)",
    ]


def test_the_legend_names_every_trace_unless_it_is_hidden_and_a_single_one_needs_none():
    assert {"rate", "done"} <= set(words(picture(line(), line(name="done"))))
    assert "rate" not in words(picture(line()))
    assert "done" not in words(picture(line(), line(name="x"), line(name="done", showlegend=False)))
    assert "rate" not in words(picture(line(), line(), showlegend=False))


def test_titles_of_axes_and_names_of_spots_show_as_they_were_typed():
    named = line(mode="markers+text", text=["A &lt;1&gt;", "B", "C"], textposition=["top center"] * 3)
    svg = picture(named, yaxis={"title": {"text": "Rate (mm/h)"}}, xaxis={"title": {"text": "Year"}})

    assert {"A <1>", "B", "Rate (mm/h)", "Year"} <= set(words(svg))


def test_an_axis_that_is_hidden_has_no_labels():
    svg = picture(line(), xaxis={"visible": False}, yaxis={"visible": False})

    assert words(svg) == []


def test_names_too_long_for_their_place_are_cut_and_none_lies_on_another():
    months = [f"A very long month {n}" for n in range(30)]
    svg = picture(bars(x=months, y=[1.0] * 30))
    places = sorted(float(n.get("x")) for n in svg.iter(f"{SVG}text") if n.text.endswith("…"))

    assert len(places) < 30
    assert min(b - a for a, b in pairwise(places)) > 50


def test_a_tall_chart_is_higher():
    figure = {"data": [{"type": "scatter", **line()}], "layout": {}}
    heights = [
        float(ElementTree.fromstring(still(figure, "c", tall=tall)).get("viewBox").split()[3])
        for tall in (False, True)
    ]

    assert heights[1] > heights[0]


def test_marks_of_the_second_axis_lie_by_that_axis():
    second = line(y=[1.0, 1.0, 1.0], yaxis="y2", mode="markers")
    svg = picture(
        line(y=[100.0, 200.0, 300.0]), second, yaxis2={"range": [0, 1], "overlaying": "y", "visible": False}
    )
    tops = {float(circle.get("cy")) for circle in view(svg).iter(f"{SVG}circle")}

    assert tops == {8.0}


HIDDEN = {"visible": False}


def test_a_plot_fills_the_picture_but_for_its_labels():
    """Without labels it lies 10 from either side, 8 from the top, and is 230 high; 6 are left below it."""
    svg = picture(line(), xaxis=HIDDEN, yaxis=HIDDEN)
    clip = svg.find(f"{SVG}clipPath/{SVG}rect")

    assert [clip.get(name) for name in ("x", "y", "width", "height")] == ["10", "8", "380", "230"]
    assert svg.get("viewBox") == "0 0 400 244"


def test_a_line_goes_from_corner_to_corner_where_its_axes_end_at_its_points():
    svg = picture(line(), xaxis={"range": [0, 2], **HIDDEN}, yaxis={"range": [0, 10], **HIDDEN})

    assert view(svg).find(f"{SVG}path").get("d") == "M10 238l190-115 190-115"


def test_what_lies_beyond_the_axes_is_cut_off_at_the_edge_of_the_plot():
    svg = picture(line(y=[-100.0, 5.0, 100.0]), yaxis={"range": [0, 10]})

    assert view(svg).get("clip-path") == "url(#c-view)"
    assert svg.find(f"{SVG}clipPath").get("id") == "c-view"


def test_two_charts_on_a_page_share_no_id():
    figure = {"data": [{"type": "bar", "x": ["a"], "y": [1.0], "marker": {"pattern": {"shape": "/"}}}]}

    first, second = (set(re.findall(r' id="([^"]+)"', still(figure, key))) for key in ("one", "two"))

    assert len(first) == len(second) == 2
    assert not first & second


def test_every_reference_points_to_something_in_the_picture_or_its_words():
    hatched = bars(marker={"pattern": {"shape": "x"}})
    figure = Figure()
    figure.add_bar(**{key: value for key, value in hatched.items() if key != "bar"})

    drawn = still(figure.plain(), "c")

    assert set(re.findall(r"url\(#([^)]+)\)", drawn)) <= set(re.findall(r' id="([^"]+)"', drawn))


def test_titles_names_and_notes_that_look_like_markup_are_shown_as_words():
    typed = '<img src=x onerror=alert(1)> & "yard"'
    figure = Figure()
    figure.add_scatter(**line(name=typed))
    figure.add_bar(x=[typed, "b"], y=[1.0, 2.0], name="b")
    figure.add_annotation(x=0, y=1.0, text=typed)
    figure.update_layout(
        xaxis={"type": "category", "title": {"text": typed}}, yaxis={"title": {"text": typed}}
    )

    drawn = still(figure.plain(), "c")

    assert "<img" not in drawn
    assert words(ElementTree.fromstring(drawn)).count(typed) >= 3


def test_control_characters_in_a_name_leave_the_picture_readable():
    svg = picture(line(name="yard\x00\x0b one"), line(name="two"))

    assert "yard one" in words(svg)


def test_lines_of_the_grid_stand_beside_their_numbers():
    svg = picture(line(), yaxis={"range": [0, 10]}, xaxis=HIDDEN)
    grid = next(one for one in svg.findall(f"{SVG}path") if one.get("stroke") == "var(--chart-grid)")

    places = [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)H", grid.get("d"))]
    numbers = {one.text: float(one.get("y")) for one in svg.findall(f"{SVG}text")}

    assert places == [238.0, 192.0, 146.0, 100.0, 54.0, 8.0]
    assert numbers == {"0": 242.0, "2": 196.0, "4": 150.0, "6": 104.0, "8": 58.0, "10": 12.0}


def test_longer_numbers_push_the_plot_to_the_right_so_that_none_is_cut_off():
    left = [
        float(
            picture(line(x=[0, 1], y=[0.0, top]), yaxis={"range": [0, top]})
            .find(f"{SVG}clipPath/{SVG}rect")
            .get("x")
        )
        for top in (10, 25_000)
    ]

    assert left == [
        pytest.approx(12.0 + text_width(widest, LETTERS), abs=0.1) for widest in ("10", "25\u202f000")
    ]
    assert left[1] - left[0] > 3 * 6


def test_the_first_and_last_label_stay_within_the_picture():
    ticks = {"range": [0, 2], "tickvals": [0, 2], "ticktext": ["1 January", "31 December"]}

    svg = picture(line(), xaxis=ticks, yaxis=HIDDEN)

    assert words(svg) == ["1 January", "31 December"]
    for label in svg.findall(f"{SVG}text"):
        half = 6.9 * len(label.text) / 2
        assert float(label.get("x")) - half >= -0.1
        assert float(label.get("x")) + half <= 400.1


def test_names_of_level_bars_may_be_hidden_but_their_bars_stay():
    svg = picture(
        bars(x=[1.0, 3.0], y=["left", "right"], orientation="h"),
        yaxis={"showticklabels": False},
        xaxis=HIDDEN,
    )

    assert words(svg) == []
    assert len(list(view(svg).iter(f"{SVG}rect"))) == 2


def test_a_chart_by_names_grows_with_them():
    heights = [
        float(
            picture(bars(x=[1.0] * number, y=[f"n{i}" for i in range(number)], orientation="h"))
            .find(f"{SVG}clipPath/{SVG}rect")
            .get("height")
        )
        for number in (1, 2, 20)
    ]

    assert heights == [46.0, 92.0, 920.0]


@pytest.mark.parametrize(
    ("look", "d"),
    [({"x": 1}, "M200.0 8.0V238.0"), ({"y": 2.5}, "M10.0 180.5H390.0")],
)
def test_a_line_across_lies_at_its_value_from_edge_to_edge(look, d):
    figure = Figure()
    figure.add_scatter(**line())
    (figure.add_vline if "x" in look else figure.add_hline)(**look)
    figure.update_layout(xaxis={"range": [0, 2], **HIDDEN}, yaxis={"range": [0, 10], **HIDDEN})

    svg = ElementTree.fromstring(still(figure.plain(), "c"))

    assert view(svg).find(f"{SVG}path").get("d") == d


def test_a_line_across_at_nought_has_no_place_among_powers_of_ten():
    figure = Figure()
    figure.add_scatter(**line(y=[1.0, 10.0, 100.0]))
    figure.add_hline(y=0.0, line={"color": "var(--chart-limit)"})
    figure.update_layout(yaxis={"type": "log"})

    assert "var(--chart-limit)" not in still(figure.plain(), "c")


@pytest.mark.parametrize(
    ("note", "anchor", "x", "y"),
    [
        ({"x": 1, "y": 5.0}, "middle", "200", "127"),
        ({"x": 1, "y": 5.0, "xanchor": "left", "xshift": 6}, "start", "206", "127"),
        ({"x": 1, "y": 5.0, "xanchor": "right", "yanchor": "bottom"}, "end", "200", "120"),
        (
            {"x": 1, "y": 1, "xref": "paper", "yref": "paper", "yanchor": "top"},
            "middle",
            "386.5",
            "20",
        ),  # within the rim
    ],
)
def test_words_at_a_place_lie_beside_it_as_they_are_anchored(note, anchor, x, y):
    figure = Figure()
    figure.add_scatter(**line())
    figure.add_annotation(text="here", **note)
    figure.update_layout(xaxis={"range": [0, 2], **HIDDEN}, yaxis={"range": [0, 10], **HIDDEN})

    (said,) = ElementTree.fromstring(still(figure.plain(), "c")).findall(f"{SVG}text")

    assert (said.get("text-anchor"), said.get("x"), said.get("y")) == (anchor, x, y)


def test_words_on_a_scale_of_powers_are_placed_by_their_power():
    figure = Figure()
    figure.add_scatter(**line(y=[1.0, 10.0, 100.0]))
    figure.add_annotation(x=1, y=1.0, text="ten")
    figure.update_layout(xaxis={"range": [0, 2], **HIDDEN}, yaxis={"type": "log", "range": [0, 2], **HIDDEN})

    (said,) = ElementTree.fromstring(still(figure.plain(), "c")).findall(f"{SVG}text")

    assert said.get("y") == "127"


def test_a_legend_goes_on_in_a_new_row_before_it_leaves_the_picture():
    svg = picture(
        *(line(name=f"A name of middling length {n}") for n in range(4)), xaxis=HIDDEN, yaxis=HIDDEN
    )
    places = {(one.get("x"), one.get("y")) for one in svg.findall(f"{SVG}text")}

    assert {x for x, _ in places} == {"30"}
    assert sorted(float(y) for _, y in places) == [256.0, 276.0, 296.0, 316.0]
    assert svg.get("viewBox") == "0 0 400 326"


def test_short_names_of_a_legend_share_a_row():
    svg = picture(line(name="a"), line(name="b"), xaxis=HIDDEN, yaxis=HIDDEN)

    assert len({one.get("y") for one in svg.findall(f"{SVG}text")}) == 1


def test_a_legend_shows_lines_as_lines_marks_as_marks_and_areas_as_patches():
    fan = line(x=[0, 1, 1], y=[1, 2, 4], fill="toself", fillcolor="var(--chart-fan)", name="fan")
    dots = line(mode="markers", marker={"symbol": ["square"] * 3}, name="dots")
    svg = picture(line(line={"dash": "dot"}), fan, dots, xaxis=HIDDEN, yaxis=HIDDEN)

    outside = [one for one in svg if one.tag != f"{SVG}g"]
    dashes = [one.get("stroke-dasharray") for one in outside if one.get("d", "").endswith("h20")]

    assert dashes == ["2 4"]
    assert [one.get("fill") for one in outside if one.tag == f"{SVG}rect"] == ["var(--chart-fan)"]
    assert sum("z" in one.get("d", "") for one in outside) == 1


def test_half_a_bar_at_either_end_has_its_room():
    svg = picture(bars(x=[2025, 2026], y=[1.0, 1.0]), xaxis={"dtick": 1}, yaxis=HIDDEN)
    rects = list(view(svg).iter(f"{SVG}rect"))

    assert min(float(one.get("x")) for one in rects) > 10.0
    assert max(float(one.get("x")) + float(one.get("width")) for one in rects) < 390.0


def test_ranges_are_in_view_though_they_reach_further_than_their_points():
    svg = picture(line(mode="markers", error_y={"array": [50.0, 50.0, 50.0]}), xaxis=HIDDEN, yaxis=HIDDEN)
    ends = re.findall(r"M[\d.]+ ([\d.]+)V([\d.]+)", view(svg).find(f"{SVG}path").get("d"))

    assert ends
    assert all(8.0 <= float(end) <= 238.0 for pair in ends for end in pair)


@pytest.mark.parametrize("values", [[], [None, None, None], [float("nan")] * 3])
@pytest.mark.parametrize("kind", ["linear", "log"])
def test_a_trace_without_a_single_value_leaves_an_empty_plot(values, kind):
    svg = picture(line(x=list(range(len(values))), y=values), yaxis={"type": kind})

    assert list(view(svg)) == []
    assert "nan" not in ElementTree.tostring(svg, encoding="unicode")
