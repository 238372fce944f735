"""Plain data to plotly figures. No queries here."""

from collections.abc import Sequence
from html import escape
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import counted
from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from core.presentation.charts import Chart
from core.presentation.plotting import Figure
from qa.calc.numbers import short
from qa.calc.sieves import sieve_label
from qa.presentation.wording import fate_parts, part_name
from qa.selectors.gradation import Grading
from qa.selectors.water import RainCase, Store, SurfaceWater

COURSE_SUMMARY = gettext_noop(
    "It rises while more comes in than soaks away, stays at the overflow once it is full, and falls after the rain at "
    "the rate of the soil."
)
TICKS_MM = (75, 37.5, 19, 9.5, 4.75, 2.36, 1.18, 0.6, 0.3, 0.15, 0.075)


def gradation_chart(grading: Grading) -> Chart:
    """What passes each sieve, with the band, and what it comes to in words."""
    title = _("Percent passing over the sieve opening in mm, with the band")
    return Chart("gradation", gradation_figure(grading), title, gradation_summary(grading))


def gradation_figure(grading: Grading) -> dict[str, Any]:
    """Percent passing over the sieve opening on a log axis, with the band it is held to."""
    figure = Figure()
    _band(figure, grading)
    _curve(figure, grading)
    figure.update_layout(
        xaxis={
            "type": "log",
            "tickvals": list(TICKS_MM),
            "ticktext": [short(tick) for tick in TICKS_MM],
        },
        yaxis={"title": {"text": _("Passing (%)")}, "range": [-3, 103], "dtick": 20},
        hovermode="closest",
    )
    return figure.plain()


def _band(figure: Figure, grading: Grading) -> None:
    rows = [row for row in grading.rows if row.low is not None]
    figure.add_scatter(
        x=[row.sieve_mm for row in (*rows, *reversed(rows))],
        y=[*(row.low for row in rows), *(row.high for row in reversed(rows))],
        fill="toself",
        fillcolor="var(--chart-fan)",
        mode="lines+markers",
        line={"color": "var(--chart-limit)", "width": 1, "dash": "dash"},
        marker={"size": 5, "color": "var(--chart-limit)"},
        hovertemplate=_("asked %{y:g} %<extra>%{x:g} mm</extra>"),
        name=_("band of {name}").format(name=escape(grading.sieving.band.name)),
    )


def _curve(figure: Figure, grading: Grading) -> None:
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
        hovertemplate=_("%{y:.3g} % passing<extra>%{x:g} mm</extra>"),
        name=_("this sample"),
    )


def gradation_summary(grading: Grading) -> str:
    """What the curve shows, in words."""
    band = grading.sieving.band.name
    count = len(grading.result.failures)
    if not count:
        said = _("The sample lies in the band of {band} on every sieve that the band names.")
        return said.format(band=band)
    sieves = ", ".join(sieve_label(found.sieve_mm) for found in grading.result.failures)
    said = _("The sample does not meet {band} on {sieves}: {names}.")
    return said.format(band=band, sieves=counted(count, "sieve"), names=sieves)


PART_COLOURS = {
    "soaks away": "var(--chart-4)",
    "goes to the reuse store": "var(--chart-1)",
    "stays in the stone": "var(--chart-3)",
    "leaves by the overflow": "var(--chart-2)",
    "runs off the surface": "var(--chart-6)",
}
PART_HATCHES = ("", ".", "-", "/", "x")
CASE_LINES = (("solid", "var(--chart-line)"), ("dot", "var(--chart-2)"))


def fate_chart(water: SurfaceWater, said: str, units: str) -> Chart | None:
    """Where the water of each case goes; `said` is the same in words. None without a case."""
    figure = fate_figure(water.cases, units)
    return Chart("fate", figure, _("Where the water goes"), said) if figure else None


def course_chart(water: SurfaceWater, units: str) -> Chart | None:
    """How high the water stands in the stone; None where no case has a course."""
    figure = store_figure(water.cases, water.store, units)
    title = _("Water in the stone, from the start of the rain")
    return Chart("course", figure, title, _(COURSE_SUMMARY)) if figure else None


def fate_figure(cases: Sequence[RainCase], units: str) -> dict[str, Any] | None:
    """Where the water of a rain goes: one bar a case, its parts side by side; told by hatching besides colour."""
    if not cases:
        return None
    figure, system = Figure(), UnitSystem(units)
    names = [case.name for case in cases]
    for number, (part, colour) in enumerate(PART_COLOURS.items()):
        depths = [_shown(dict(fate_parts(case.fate))[part], system) for case in cases]
        if any(depth > 0 for depth in depths):
            figure.add_bar(
                y=names,
                x=depths,
                orientation="h",
                name=part_name(part),
                marker={"color": colour, "pattern": {"shape": PART_HATCHES[number], "size": 6}},
                hovertemplate=f"{part_name(part)} %{{x:.3r}}<extra></extra>",
            )
    figure.update_layout(
        barmode="stack",
        bargap=0.5,
        showlegend=True,
        xaxis={"ticksuffix": f" {unit_of(Quantity.SHORT_LENGTH, system)}"},
        yaxis={"autorange": "reversed", "showticklabels": False},
        annotations=[_bar_name(number, name) for number, name in enumerate(names)],
    )
    return figure.plain()


def _bar_name(number: int, name: str) -> dict[str, Any]:
    """A bar's name above the bar: beside it there is no room on a phone."""
    return {
        "x": 0,
        "y": number - 0.27,
        "yanchor": "bottom",
        "xref": "paper",
        "xanchor": "left",
        "text": name,
        "showarrow": False,
    }


def fate_rows(cases: Sequence[RainCase]) -> list[tuple[str, list[tuple[str, float]]]]:
    """The numbers of the bars: for each part, the case's name and the depth in mm."""
    return [
        (part_name(part), [(case.name, dict(fate_parts(case.fate))[part]) for case in cases])
        for part in PART_COLOURS
    ]


def store_figure(cases: Sequence[RainCase], store: Store | None, units: str) -> dict[str, Any] | None:
    """Water in the stone over the hours from the start of the rain, with what it holds below the overflow."""
    if not cases or store is None:
        return None
    figure, system = Figure(), UnitSystem(units)
    last_h = max(case.fate.course[-1].at_h for case in cases)
    figure.add_scatter(
        x=[0, last_h],
        y=[_shown(store.below_mm, system)] * 2,
        mode="lines",
        line={"color": "var(--chart-limit)", "dash": "dash"},
        name=_("full"),
    )
    for case, (dash, colour) in zip(cases, CASE_LINES, strict=True):
        figure.add_scatter(
            x=[point.at_h for point in case.fate.course],
            y=[_shown(point.store_mm, system) for point in case.fate.course],
            mode="lines",
            line={"color": colour, "width": 3, "dash": dash},
            name=case.name,
        )
    figure.update_layout(
        xaxis={"ticksuffix": " h", "rangemode": "tozero"},
        yaxis={"ticksuffix": f" {unit_of(Quantity.SHORT_LENGTH, system)}", "rangemode": "tozero"},
    )
    return figure.plain()


def _shown(depth_mm: float, system: UnitSystem) -> float:
    return to_display(depth_mm, Quantity.SHORT_LENGTH, system).value
