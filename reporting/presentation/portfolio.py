"""The page of a portfolio: charts with their tables, and the map."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar
from uuid import UUID

from core.calc.format import NOTHING, counted, figure, money, percent
from core.calc.units import Quantity
from core.presentation.charts import Chart
from core.presentation.figures import Figure
from core.presentation.measures import measure
from core.presentation.plotting import Figure as Plot
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from planning.presentation.cost_months import cost_page
from reporting.calc.portfolio import FEWEST, DueCount, QuarterShare, Spread, StateGroup
from reporting.calc.portfolio_snapshot import Hours, PortfolioSnapshot, SpentYear
from reporting.presentation.portfolio_tables import as_times
from reporting.presentation.site_map import SiteMap, site_map
from reporting.presentation.words import money_words

MOST_GROUPS = 20  # in one chart
LOOKS: Mapping[SurfaceState, tuple[str, str]] = {
    SurfaceState.BELOW_LIMIT: ("var(--chart-limit)", "x"),
    SurfaceState.CLEAN_SOON: ("var(--chart-cleaning)", "/"),
    SurfaceState.WATCH: ("var(--chart-5)", "."),
    SurfaceState.DRAINING: ("var(--chart-line)", ""),
    SurfaceState.NOT_TESTED: ("var(--chart-soft)", "-"),
}
ABOVE = {"orientation": "h", "y": 1.02, "yanchor": "bottom"}
ABOUT_TREND = (
    "From the record alone: at the end of each quarter every surface stands as its last round of ring tests by then "
    "found it (geometric mean), against the limit it has today. A surface counts from its first test until it is "
    "removed. An old test tells little of today, so the last quarters move only as surfaces are tested. A firm's is "
    "worked out anew once an hour."
)
ABOUT_CLOGGING = (
    "Loss of rate in the coming year, as the model estimates it for each tested surface. With few tests it leans "
    "towards surfaces of the same kind, so groups look more alike than they are. Groups also differ in more than what "
    "they are named for: this shows where to look, and proves no cause."
)
ABOUT_GAINS = (
    "Rate after over rate before, from the last round before a cleaning and the first after it, where both lie within "
    "four months of it and no other cleaning lies between; what clogs meanwhile counts against it. A bound counts as "
    "the value it names. What was cleaned was not chosen by lot: who meets the worst surfaces gains most."
)
TOO_FEW = f"fewer than {FEWEST}: too few to say"


@dataclass(frozen=True, slots=True)
class Part:
    """A block of the page. key: names it in the address of its file; about: how it was worked out."""

    key: str
    title: str
    chart: Chart
    about: str = ""


@dataclass(frozen=True, slots=True)
class PortfolioPage:
    """Everything the page shows. due, spent: rows of tables, with the names of their columns; money, hours: figures."""

    DUE_COLUMNS: ClassVar[tuple[str, ...]] = ("What", "Late", "Within 30 days", "Later", "On a visit")
    SPENT_COLUMNS: ClassVar[tuple[str, ...]] = ("Year", "Cleanings", "Spent", "Without a price")

    figures: Sequence[Figure]
    states: Part
    map: SiteMap
    unplaced: str
    due: Sequence[Sequence[str]]
    trend: Part | None
    clogging: Sequence[Part]
    money: Sequence[Figure]
    money_chart: Chart | None
    unknown: str
    spent: Sequence[Sequence[str]]


def portfolio_page(found: PortfolioSnapshot, units: str, addresses: Mapping[UUID, str]) -> PortfolioPage:
    """The page. addresses: of the page of each site."""
    costs = cost_page(found.costs, found.currency) if found.costs else None
    return PortfolioPage(
        figures=_figures(found, units),
        states=Part("states", "How they stand", _states_chart(found.groups, found.by.label)),
        map=site_map(found.sites, units, addresses),
        unplaced=_unplaced(found.unplaced),
        due=[_due_row(row) for row in found.due],
        trend=Part("trend", "How the whole went", _trend_chart(found.trend), ABOUT_TREND)
        if found.trend
        else None,
        clogging=_clogging(found),
        money=[*(costs.figures if costs else ()), *(_hours(found.hours) if found.hours else ())]
        or _ahead(found),
        money_chart=costs.chart if costs else None,
        unknown=costs.unknown if costs else "",
        spent=[_spent_row(row) for row in found.spent],
    )


def _figures(found: PortfolioSnapshot, units: str) -> list[Figure]:
    worst = [
        group for group in found.states if group.state in (SurfaceState.BELOW_LIMIT, SurfaceState.CLEAN_SOON)
    ]
    figures = [
        Figure(
            "Surfaces in use", str(found.surfaces), measure(found.area_m2, Quantity.AREA, units), wet=True
        ),
        *(
            Figure(group.state.label.capitalize(), str(group.count), _share(group.count, found.surfaces))
            for group in worst
        ),
    ]
    late = sum(row.late for row in found.due)
    return [*figures, Figure("Tests and inspections late", str(late), "of those not yet planned")]


def _share(count: int, whole: int) -> str:
    return f"{percent(count / whole)} of all" if whole else NOTHING


def _states_chart(groups: Sequence[StateGroup], by: str) -> Chart:
    shown = groups if len(groups) <= MOST_GROUPS else sorted(groups, key=lambda g: -g.surfaces)[:MOST_GROUPS]
    plot = Plot()
    for state in WORST_FIRST:
        colour, hatch = LOOKS[state]
        if any(group.counts[state] for group in shown):
            plot.add_bar(
                y=[group.name for group in shown],
                x=[group.counts[state] for group in shown],
                orientation="h",
                name=state.label,
                marker={"color": colour, "pattern": {"shape": hatch, "size": 6}},
            )
    plot.update_layout(
        barmode="stack",
        bargap=0.5,
        xaxis={"title": {"text": "Surfaces"}, "rangemode": "tozero"},
        yaxis={"autorange": "reversed", "automargin": True},
        legend=ABOVE,
        showlegend=True,
    )
    left = (
        f" The {MOST_GROUPS} largest of {len(groups)}; the table has all."
        if len(groups) > MOST_GROUPS
        else ""
    )
    names = (by, *(state.label for state in WORST_FIRST), "In all")
    rows = [
        (group.name, *(group.counts[state] or NOTHING for state in WORST_FIRST), group.surfaces)
        for group in groups
    ]
    return Chart(
        "states",
        plot.plain(),
        f"Surfaces by {by.lower()}",
        _worst_words(groups) + left,
        names,
        rows,
        tall=True,
    )


def _worst_words(groups: Sequence[StateGroup]) -> str:
    """How many lie below their limit, and where most of them are, or at least more than anywhere else."""
    numbers = [group.counts[SurfaceState.BELOW_LIMIT] for group in groups]
    total, most = sum(numbers), max(numbers, default=0)
    if not total:
        return "No surface lies below its limit."
    said = f"{counted(total, 'surface')} below the limit."
    if most == 1 or numbers.count(most) > 1:
        return said
    where = "Most of them" if 2 * most > total else "More than in any other"
    return f"{said} {where}: {groups[numbers.index(most)].name}, {most}."


def _unplaced(names: Sequence[str]) -> str:
    if not names:
        return ""
    if len(names) > 5:
        return f"{counted(len(names), 'site')} without a position are not on it."
    return f"Without a position, so not on it: {', '.join(names)}."


def _due_row(row: DueCount) -> list[str]:
    return [row.name, *(str(number) if number else NOTHING for number in row[1:])]


def _trend_chart(quarters: Sequence[QuarterShare]) -> Chart:
    names = [quarter.name for quarter in quarters]
    shares = [100.0 * (quarter.share_below or 0.0) for quarter in quarters]
    plot = Plot()
    plot.add_scatter(
        x=names,
        y=shares,
        mode="lines+markers",
        line={"color": "var(--chart-limit)", "width": 3},
        name="below limit",
    )
    plot.update_layout(
        xaxis={"type": "category"},
        yaxis={"title": {"text": "Tested area below its limit (%)"}, "rangemode": "tozero"},
        showlegend=False,
    )
    first, last = quarters[0], quarters[-1]
    summary = (
        f"{percent(last.share_below)} of the tested area below its limit at the end of {last.name}, "
        f"after {percent(first.share_below)} at the end of {first.name}. "
        f"{counted(last.surfaces, 'surface').capitalize()} tested so far."
    )
    rows = [(quarter.name, percent(quarter.share_below), quarter.surfaces) for quarter in quarters]
    names_of_columns = ("Quarter", "Tested area below its limit", "Surfaces tested so far")
    return Chart("trend", plot.plain(), "Share of the area below its limit", summary, names_of_columns, rows)


def _clogging(found: PortfolioSnapshot) -> list[Part]:
    parts = (
        ("types", "Which kinds clog", found.declines, "Percent of the rate lost a year", ABOUT_CLOGGING),
        (
            "conditions",
            "Under which conditions",
            found.conditions,
            "Percent of the rate lost a year",
            ABOUT_CLOGGING,
        ),
        ("gains", "What ways of cleaning gave", as_times(found.gains), "Times the rate before", ABOUT_GAINS),
    )
    return [
        Part(key, title, _spread_chart(key, title, rows, unit), about)
        for key, title, rows, unit, about in parts
        if rows
    ]


def _spread_chart(key: str, title: str, rows: Sequence[Spread], unit: str) -> Chart:
    told = [row for row in rows if row.median is not None]
    plot = Plot()
    if told:
        middle = [row.median or 0.0 for row in told]
        plot.add_scatter(
            x=middle,
            y=[f"{row.name} ({row.number})" for row in told],
            mode="markers",
            marker={"color": "var(--chart-line)", "size": 12, "symbol": "diamond"},
            error_x={
                "type": "data",
                "symmetric": False,
                "array": [(row.high or 0.0) - (row.median or 0.0) for row in told],
                "arrayminus": [(row.median or 0.0) - (row.low or 0.0) for row in told],
                "color": "var(--chart-line)",
                "thickness": 2,
            },
            name=title,
        )
        plot.update_layout(
            xaxis={"title": {"text": unit}},
            yaxis={"autorange": "reversed", "automargin": True},
            showlegend=False,
        )
    summary = (
        "A mark is the median of a group, the line its middle 80 %; in brackets how many the group has."
        if told
        else f"No group has {FEWEST} yet, so none is shown."
    )
    columns = ("Group", "How many", "Median", "Middle 80 %")
    return Chart(
        key,
        plot.plain(),
        f"{title}: {unit[0].lower()}{unit[1:]}",
        summary,
        columns,
        [_spread_row(row) for row in rows],
    )


def _spread_row(row: Spread) -> tuple[str, int, str, str]:
    if row.median is None:
        return row.name, row.number, NOTHING, TOO_FEW
    return row.name, row.number, figure(row.median), f"{figure(row.low)} to {figure(row.high)}"


def _hours(hours: Hours) -> list[Figure]:
    untold = f"; of {counted(hours.untold, 'task')} nobody told" if hours.untold else ""
    return [
        Figure(
            "Hours on site, last 12 months",
            figure(hours.done),
            f"as told, {counted(hours.done_tasks, 'task')}{untold}",
        ),
        Figure(
            "Hours of advised work ahead",
            figure(hours.ahead),
            "worked out from areas and outputs",
            term="crew_hours",
        ),
    ]


def _ahead(found: PortfolioSnapshot) -> list[Figure]:
    said = ", ".join(money(one.amount, one.currency) for one in found.ahead)
    return (
        [Figure("Advised to you and not yet done", said, "as released, without agreements")] if said else []
    )


def _spent_row(row: SpentYear) -> list[str]:
    spent = ", ".join(money_words(one) for one in row.spent) or NOTHING
    return [str(row.year), str(row.cleanings), spent, str(row.unpriced) if row.unpriced else NOTHING]
