"""Figures as plain data, held to the library that knows what its script takes."""

import plotly.graph_objects as go
import pytest
from django.utils.translation import override

from core.presentation.plotting import Figure

SCATTER = {
    "x": [1, 2],
    "y": [3.0, 4.0],
    "mode": "lines",
    "line": {"color": "var(--chart-line)"},
    "name": "rate",
}
BAR = {"x": ["0–10"], "y": [2], "marker": {"color": "var(--chart-1)"}, "name": "rounds"}


def drawn(figure):
    figure.add_scatter(**SCATTER)
    figure.add_bar(**BAR)
    figure.add_vline(x="2026-01-31", line={"color": "var(--chart-soft)", "width": 1})
    figure.add_hline(y=250.0, line={"color": "var(--chart-limit)", "dash": "dash"})
    figure.add_annotation(x=2.4, y=0.98, yref="paper", text="limit", showarrow=False)
    figure.update_layout(xaxis={"type": "log"}, hovermode="closest")
    return figure


def test_a_figure_is_what_the_library_would_have_made_of_it():
    theirs = drawn(go.Figure()).to_plotly_json()
    theirs["layout"].pop("template", None)

    ours = drawn(Figure()).plain()

    assert go.Figure(ours).to_dict() == go.Figure(theirs).to_dict()
    assert set(ours) == {"data", "layout"}


def test_every_figure_of_a_test_is_checked_by_the_library():
    figure = Figure()
    figure.add_scatter(x=[1], y=[2], mode="no such mode")

    with pytest.raises(ValueError, match="no such mode"):
        figure.plain()


def test_a_reader_of_french_sees_french_marks_in_a_chart_that_is_touched():
    with override("fr"):
        assert Figure().plain()["layout"] == {"separators": ",\u202f"}
    assert Figure().plain()["layout"] == {}
