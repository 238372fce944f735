"""Plain data to plotly figures. No queries here."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from html import escape
from math import log10
from typing import Any, NamedTuple

from django.utils.translation import gettext as _

from clogging.api import Estimate
from core.calc.bounds import Bound
from core.calc.format import bound_word, labelled
from core.calc.paving import TestMethod
from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from core.presentation.plotting import Figure
from maintenance.calc.decline import CleaningMark, DeclineRecord, MeasuredRate, RoundMean
from maintenance.calc.forecast_payload import RateCurve

BOUND_MARKS = {
    Bound.EXACT: "diamond-open",
    Bound.BELOW: "triangle-down-open",
    Bound.ABOVE: "triangle-up-open",
}
SURELY_BELOW = 0.97
LEAST_AHEAD = 6  # points of the forecast, a year
LEGEND_ABOVE = {"orientation": "h", "y": 1.02, "yanchor": "bottom"}
ROOM = 0.12  # decades above and below


def decline_figure(record: DeclineRecord, units: str) -> dict[str, Any]:
    """Rate over time: what was measured, what the model makes of it, where it goes, and the limit."""
    system = UnitSystem(units)
    figure = Figure()
    _fan(figure, record.past, system, named=False)
    _fan(figure, record.future, system, named=True)
    _medians(figure, record, system)
    _limit(figure, record, system)
    _reach(figure, record, system)
    _tests(figure, [test for test in record.tests if test.method is TestMethod.RING], system)
    _other_tests(figure, [test for test in record.tests if test.method is not TestMethod.RING], system)
    _rounds(figure, record.rounds, system)
    _cleanings(figure, record.cleanings)
    _frame(figure, record, system)
    return figure.plain()


def _rates(values: Sequence[float], system: UnitSystem) -> list[float]:
    return [to_display(value, Quantity.RATE, system).value for value in values]


def _days(days: Iterable[date]) -> list[str]:
    return [day.isoformat() for day in days]


def _fan(figure: Figure, curve: RateCurve, system: UnitSystem, *, named: bool) -> None:
    """The ranges of one curve; those of the past and of the forecast share one name in the legend."""
    for low, high, colour, name in (
        (curve.lo95, curve.hi95, "var(--chart-fan-wide)", _("95 % range")),
        (curve.lo80, curve.hi80, "var(--chart-fan)", _("80 % range")),
    ):
        figure.add_scatter(
            x=_days([*curve.on, *reversed(curve.on)]),
            y=[*_rates(high, system), *reversed(_rates(low, system))],
            fill="toself",
            fillcolor=colour,
            line={"width": 0},
            mode="lines",
            hoverinfo="skip",
            name=name,
            legendgroup=name,
            showlegend=named,
        )


def _medians(figure: Figure, record: DeclineRecord, system: UnitSystem) -> None:
    for name, curve, dash in ((_("estimate"), record.past, "solid"), (_("forecast"), record.future, "dot")):
        figure.add_scatter(
            x=_days(curve.on),
            y=_rates(curve.median, system),
            mode="lines",
            line={"color": "var(--chart-line)", "width": 3, "dash": dash},
            name=name,
        )


def _limit(figure: Figure, record: DeclineRecord, system: UnitSystem) -> None:
    ends = _days([record.past.on[0], record.future.on[-1]])
    limit = to_display(record.limit_mm_h, Quantity.RATE, system).value
    figure.add_scatter(
        x=ends,
        y=[limit, limit],
        mode="lines",
        line={"color": "var(--chart-limit)", "dash": "dash"},
        name=_("limit"),
    )


def _reach(figure: Figure, record: DeclineRecord, system: UnitSystem) -> None:
    """When the limit is reached: a bar from a 10 % to a 90 % chance, a mark at that of 50 %."""
    reach = record.reach
    if not reach.below_10_on:
        return
    limit = to_display(record.limit_mm_h, Quantity.RATE, system).value
    days = [reach.below_10_on, reach.below_50_on, reach.below_90_on or record.future.on[-1]]
    last = _("90 % chance") if reach.below_90_on else _("not yet 90 % by then")
    chances = (_("10 % chance"), _("50 % chance"), last)
    shown = [(day, chance, size) for day, chance, size in zip(days, chances, (1, 15, 1), strict=True) if day]
    figure.add_scatter(
        x=_days(day for day, _chance, _size in shown),
        y=[limit] * len(shown),
        mode="lines+markers",
        line={"color": "var(--chart-limit)", "width": 7},
        marker={
            "size": [size for _day, _chance, size in shown],
            "symbol": "line-ns",
            "line": {"width": 3, "color": "var(--chart-limit)"},
        },
        opacity=0.75,
        text=[chance for _day, chance, _size in shown],
        hovertemplate=_("below the limit: {chance}").format(chance="%{text}") + "<extra>%{x}</extra>",
        name=_("reaches the limit"),
    )


def _tests(figure: Figure, tests: Sequence[MeasuredRate], system: UnitSystem) -> None:
    figure.add_scatter(
        x=_days(test.on for test in tests),
        y=_rates([test.rate_mm_h for test in tests], system),
        mode="markers",
        marker={
            "color": "var(--chart-test)",
            "size": 8,
            "opacity": 0.75,
            "symbol": [BOUND_MARKS[test.bound] for test in tests],
        },
        # The chart reads tags in its labels: a place named like one must show as it was typed.
        text=[labelled(escape(test.place), bound_word(test.bound)) for test in tests],
        hovertemplate="%{text}%{y:.3r}<extra>%{x}</extra>",
        name=_("single test"),
    )


def _other_tests(figure: Figure, tests: Sequence[MeasuredRate], system: UnitSystem) -> None:
    """Rates as other methods measured them; the curve is in terms of the ring, so they may lie beside it."""
    figure.add_scatter(
        x=_days(test.on for test in tests),
        y=_rates([test.rate_mm_h for test in tests], system),
        mode="markers",
        marker={"color": "var(--chart-soft)", "size": 9, "symbol": "square-open"},
        text=[
            labelled(f"{escape(test.place)}, {test.method.in_sentence}", bound_word(test.bound))
            for test in tests
        ],
        hovertemplate="%{text}%{y:.3r}<extra>%{x}</extra>",
        name=_("other method, as measured"),
        showlegend=bool(tests),
    )


def _rounds(figure: Figure, rounds: Sequence[RoundMean], system: UnitSystem) -> None:
    figure.add_scatter(
        x=_days(one.on for one in rounds),
        y=_rates([one.mean_mm_h for one in rounds], system),
        mode="markers",
        marker={"color": "var(--chart-test)", "size": 11, "symbol": "diamond"},
        hovertemplate=_("round, geometric mean {rate}").format(rate="%{y:.3r}") + "<extra>%{x}</extra>",
        name=_("test round"),
    )


def _cleanings(figure: Figure, cleanings: Sequence[CleaningMark]) -> None:
    for event in cleanings:
        figure.add_vline(
            x=event.on.isoformat(), line={"color": "var(--chart-cleaning)", "width": 2, "dash": "dashdot"}
        )
    figure.add_scatter(
        x=_days(event.on for event in cleanings),
        y=[1.0] * len(cleanings),
        yaxis="y2",
        mode="markers",
        marker={"color": "var(--chart-cleaning)", "size": 13, "symbol": "star-square"},
        text=[event.what for event in cleanings],
        hovertemplate="%{text}<extra>%{x}</extra>",
        name=_("cleaning"),
        showlegend=bool(cleanings),
    )


def _frame(figure: Figure, record: DeclineRecord, system: UnitSystem) -> None:
    until = shown_until(record)
    figure.update_layout(
        yaxis={
            "type": "log",
            "title": {"text": _("Rate ({unit})").format(unit=unit_of(Quantity.RATE, system))},
            "range": shown_rates(record, until, system),
            "dtick": 1,
            "exponentformat": "none",
            "minexponent": 9,
        },
        yaxis2={"overlaying": "y", "range": [0, 1.02], "visible": False, "fixedrange": True},
        xaxis={
            "type": "date",
            "range": _days([shown_since(record), until]),
            "tickformat": "%Y",
            "dtick": "M12",
        },
        hovermode="closest",
    )
    figure.add_vline(x=record.today.isoformat(), line={"color": "var(--chart-soft)", "width": 1})


def shown_since(record: DeclineRecord) -> date:
    """Two weeks before the opening, or before an acceptance test made ahead of it, so that marks show whole."""
    return min([record.past.on[0], *(test.on for test in record.tests)]) - timedelta(days=14)


def shown_until(record: DeclineRecord) -> date:
    """The view ends where the forecast is surely below the limit, or half-way to the horizon."""
    days = record.future.on
    half_way = days[len(days) // 2]
    sure = next((on for on, p in zip(days, record.below, strict=True) if p > SURELY_BELOW), half_way)
    return max(days[min(LEAST_AHEAD, len(days) - 1)], min(sure, half_way))


def shown_rates(record: DeclineRecord, until: date, system: UnitSystem) -> list[float]:
    """The log10 range of everything in view, with a little room."""
    seen = [record.limit_mm_h, *(test.rate_mm_h for test in record.tests)]
    for curve in (record.past, record.future):
        for on, low, high in zip(curve.on, curve.lo95, curve.hi95, strict=True):
            if on <= until:
                seen += [low, high]
    rates = _rates([rate for rate in seen if rate > 0], system)
    return [log10(min(rates)) - ROOM, log10(max(rates)) + ROOM]


def probability_histogram(counts: Sequence[int], low: float, high: float) -> dict[str, Any]:
    """Where past rounds fell in the forecasts made before them, by tenths, with the band for honest ones.

    low, high: counts between which an honest tenth lies 95 % of the time.
    """
    tenths = [f"{10 * i}–{10 * i + 10}" for i in range(len(counts))]
    figure = Figure()
    figure.add_bar(x=tenths, y=list(counts), marker={"color": "var(--chart-line)"}, name=_("rounds"))
    for height, name in ((low, _("honest forecasts stay between")), (high, _("and"))):
        figure.add_scatter(
            x=tenths,
            y=[height] * len(tenths),
            mode="lines",
            line={"color": "var(--chart-limit)", "dash": "dash"},
            name=name,
        )
    figure.update_layout(
        xaxis={"title": {"text": _("Where the round fell in its forecast (%)")}, "type": "category"},
        yaxis={"title": {"text": _("Rounds")}, "rangemode": "tozero"},
        bargap=0.12,
        legend=LEGEND_ABOVE,
    )
    return figure.plain()


class BeliefRow(NamedTuple):
    """A quantity with its estimates now and before any record."""

    name: str
    now: Estimate
    before: Estimate


def beliefs_figure(rows: Sequence[BeliefRow], unit: str) -> dict[str, Any]:
    """What is believed now (80 % range) beside what was believed before any record."""
    names = [row.name for row in rows]
    figure = Figure()
    _beliefs(
        figure,
        names,
        [row.before for row in rows],
        (_("before any record"), "var(--chart-soft)", "circle-open"),
    )
    _beliefs(figure, names, [row.now for row in rows], (_("now"), "var(--chart-line)", "circle"))
    figure.update_layout(
        xaxis={"title": {"text": unit}},
        yaxis={"autorange": "reversed", "automargin": True},
        legend=LEGEND_ABOVE,
    )
    return figure.plain()


def _beliefs(
    figure: Figure, names: Sequence[str], estimates: Sequence[Estimate], look: tuple[str, str, str]
) -> None:
    label, colour, symbol = look
    figure.add_scatter(
        x=[e.median for e in estimates],
        y=list(names),
        mode="markers",
        name=label,
        marker={"color": colour, "size": 11, "symbol": symbol},
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [e.hi80 - e.median for e in estimates],
            "arrayminus": [e.median - e.lo80 for e in estimates],
            "color": colour,
            "thickness": 2,
        },
    )
