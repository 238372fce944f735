"""Plain data to plotly figures. No queries here."""

from typing import Any

import plotly.graph_objects as go

from qa.gradings import Grading

TICKS_MM = (75, 37.5, 19, 9.5, 4.75, 2.36, 1.18, 0.6, 0.3, 0.15, 0.075)


def gradation_figure(grading: Grading) -> dict[str, Any]:
    """Percent passing over the sieve opening on a log axis, with the band it is held to."""
    figure = go.Figure()
    _band(figure, grading)
    _curve(figure, grading)
    figure.update_layout(
        template=None,
        xaxis={
            "type": "log",
            "tickvals": list(TICKS_MM),
            "ticktext": [f"{tick:g}" for tick in TICKS_MM],
        },
        yaxis={"title": {"text": "Passing (%)"}, "range": [-3, 103], "dtick": 20},
        hovermode="closest",
    )
    return figure.to_plotly_json()


def _band(figure: go.Figure, grading: Grading) -> None:
    rows = [row for row in grading.rows if row.low is not None]
    figure.add_scatter(
        x=[row.sieve_mm for row in (*rows, *reversed(rows))],
        y=[*(row.low for row in rows), *(row.high for row in reversed(rows))],
        fill="toself",
        fillcolor="var(--chart-fan)",
        mode="lines+markers",
        line={"color": "var(--chart-limit)", "width": 1, "dash": "dash"},
        marker={"size": 5, "color": "var(--chart-limit)"},
        hovertemplate="asked %{y:g} %<extra>%{x:g} mm</extra>",
        name=f"band of {grading.sieving.band.name}",
    )


def _curve(figure: go.Figure, grading: Grading) -> None:
    rows = [row for row in grading.rows if row.passing is not None]
    figure.add_scatter(
        x=[row.sieve_mm for row in rows],
        y=[row.passing for row in rows],
        mode="lines+markers",
        line={"color": "var(--chart-line)", "width": 3},
        marker={
            "size": [13 if row.state == "out" else 8 for row in rows],
            "color": "var(--chart-test)",
            "symbol": ["x" if row.state == "out" else "diamond" for row in rows],
        },
        hovertemplate="%{y:.3g} % passing<extra>%{x:g} mm</extra>",
        name="this sample",
    )


def gradation_summary(grading: Grading) -> str:
    """What the curve shows, in words."""
    band = grading.sieving.band.name
    count = len(grading.result.failures)
    if not count:
        return f"The sample lies in the band of {band} on every sieve that the band names."
    sieves = ", ".join(f"{found.sieve_mm:g} mm" for found in grading.result.failures)
    return f"The sample does not meet {band} on {count} sieve{'s' if count > 1 else ''}: {sieves}."
