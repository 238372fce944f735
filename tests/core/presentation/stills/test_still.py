"""The first picture of a chart: what of a figure is drawn, and how it is told apart and read."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from core.presentation.plotting import Figure
from core.presentation.stills.still import still

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
