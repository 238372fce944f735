"""Plain data to plotly figures. No queries here."""

from collections.abc import Sequence
from html import escape
from math import log10
from typing import Any

from django.utils.translation import gettext as _

from core.calc.bounds import Bound
from core.calc.format import bound_word, format_rate
from core.calc.units import Quantity, UnitSystem, rounded_for_reading, to_display
from core.presentation.plotting import Figure
from qa.calc.rounds import RoundStatistics
from qa.selectors.rounds import MethodResult, SpotResult

BOUND_MARKS = {Bound.EXACT: "circle", Bound.BELOW: "triangle-left", Bound.ABOVE: "triangle-right"}
ROOM = 0.15  # decades on either side
FARTHEST = 3.0  # times beyond the spots that the range may widen the view


def spots_figure(result: MethodResult, limit_mm_h: float, units: str) -> dict[str, Any]:
    """One round by one method: every spot on a line of rates, the limit, the mean, the surface's range."""
    system = UnitSystem(units)
    figure = Figure()
    _range(figure, result.statistics, system)
    _spots(figure, result.spots, system)
    _mean(figure, result, system)
    limit = _rate(limit_mm_h, system)
    figure.add_vline(x=limit, line={"color": "var(--chart-limit)", "width": 3, "dash": "dash"})
    figure.add_annotation(
        x=log10(limit), y=0.98, yref="paper", yanchor="top", xanchor="left", xshift=4, text=_("limit"),
        showarrow=False, font={"color": "var(--chart-limit)"},
    )  # fmt: skip
    _frame(figure, _in_view(result, limit_mm_h), system)
    return figure.plain()


def spots_table(spots: Sequence[SpotResult], units: str) -> list[list[str]]:
    """The chart's numbers: spot, rate."""
    return [
        [spot.place, bound_word(spot.rate.bound) + format_rate(spot.rate.rate_mm_h, units)] for spot in spots
    ]


def _rate(rate_mm_h: float, system: UnitSystem) -> float:
    return to_display(rate_mm_h, Quantity.RATE, system).value


def _sign(spot: SpotResult) -> Bound:
    return spot.rate.bound if spot.rate.bound in BOUND_MARKS else Bound.EXACT


def _in_view(result: MethodResult, limit_mm_h: float) -> list[float]:
    """Spots and limit, and the ends of the range unless they lie so far off that the spots would shrink."""
    rates = [*(spot.rate.rate_mm_h for spot in result.spots), limit_mm_h]
    surface = result.statistics.surface
    if surface is None:
        return rates
    low, high = min(rates) / FARTHEST, max(rates) * FARTHEST
    return [*rates, max(low, surface.low_mm_h), min(high, surface.high_mm_h)]


def _range(figure: Figure, statistics: RoundStatistics, system: UnitSystem) -> None:
    if statistics.surface is None:
        return
    low, high = _rate(statistics.surface.low_mm_h, system), _rate(statistics.surface.high_mm_h, system)
    figure.add_scatter(
        x=[low, high],
        y=[0, 0],
        mode="lines",
        line={"color": "var(--chart-fan)", "width": 26},
        hovertemplate=f"%{{x:.3r}}<extra>{_('95 % range of the surface')}</extra>",
        name=_("95 % range of the surface"),
    )


def _spots(figure: Figure, spots: Sequence[SpotResult], system: UnitSystem) -> None:
    figure.add_scatter(
        x=[_rate(spot.rate.rate_mm_h, system) for spot in spots],
        y=[0.0] * len(spots),
        mode="markers+text",
        marker={
            "color": "var(--chart-test)",
            "size": 13,
            "symbol": [BOUND_MARKS[_sign(spot)] for spot in spots],
        },
        text=[escape(spot.place) for spot in spots],  # a chart reads tags in its labels
        textposition=["top center" if n % 2 == 0 else "bottom center" for n in range(len(spots))],
        hovertemplate="%{text}: %{x:.3r}<extra></extra>",
        name=_("spot (a triangle points where the true rate lies)"),
    )


def _mean(figure: Figure, result: MethodResult, system: UnitSystem) -> None:
    mean = _rate(result.statistics.mean.rate_mm_h, system)
    figure.add_scatter(
        x=[mean],
        y=[0],
        mode="markers",
        marker={"color": "var(--chart-line)", "size": 30, "symbol": "line-ns", "line": {"width": 4}},
        hovertemplate=f"%{{x:.3r}}<extra>{_('arithmetic mean')}</extra>",
        name=_("arithmetic mean"),
    )


def _frame(figure: Figure, rates: Sequence[float], system: UnitSystem) -> None:
    low, high = _rate(min(rates), system), _rate(max(rates), system)
    shown = [log10(low) - ROOM, log10(high) + ROOM]
    ticks = [n * 10.0**p for p in range(int(shown[0]) - 1, int(shown[1]) + 2) for n in (1, 2, 5)]
    figure.update_layout(
        xaxis={
            "type": "log",
            "range": shown,
            "tickvals": ticks,
            "ticktext": [rounded_for_reading(tick) for tick in ticks],
        },
        yaxis={"visible": False, "range": [-1, 1], "fixedrange": True},
        hovermode="closest",
    )
