"""The page of a portfolio: charts with their tables, and the map."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

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
ABOUT_TREND = gettext_noop(
    "From the record alone: at the end of each quarter every surface stands as its last round of ring tests by then "
    "found it (geometric mean), against the limit it has today. A surface counts from its first test until it is "
    "removed. An old test tells little of today, so the last quarters move only as surfaces are tested. A firm's is "
    "worked out anew once an hour."
)
ABOUT_CLOGGING = gettext_noop(
    "Loss of rate in the coming year, as the model estimates it for each tested surface. With few tests it leans "
    "towards surfaces of the same kind, so groups look more alike than they are. Groups also differ in more than what "
    "they are named for: this shows where to look, and proves no cause."
)
ABOUT_GAINS = gettext_noop(
    "Rate after over rate before, from the last round before a cleaning and the first after it, where both lie within "
    "four months of it and no other cleaning lies between; what clogs meanwhile counts against it. A bound counts as "
    "the value it names. What was cleaned was not chosen by lot: who meets the worst surfaces gains most."
)
TOO_FEW = gettext_noop("fewer than {number}: too few to say")


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

    @property
    def due_columns(self) -> tuple[str, ...]:
        """The head of the table of what is due."""
        return _("What"), _("Late"), _("Within 30 days"), _("Later"), _("On a visit")

    @property
    def spent_columns(self) -> tuple[str, ...]:
        """The head of the table of what was spent."""
        return _("Year"), _("Cleanings"), _("Spent"), _("Without a price")


def portfolio_page(found: PortfolioSnapshot, units: str, addresses: Mapping[UUID, str]) -> PortfolioPage:
    """The page. addresses: of the page of each site."""
    costs = cost_page(found.costs, found.currency) if found.costs else None
    return PortfolioPage(
        figures=_figures(found, units),
        states=Part("states", _("How they stand"), _states_chart(found.groups, found.by.label)),
        map=site_map(found.sites, units, addresses),
        unplaced=_unplaced(found.unplaced),
        due=[_due_row(row) for row in found.due],
        trend=Part("trend", _("How the whole went"), _trend_chart(found.trend), _(ABOUT_TREND))
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
            _("Surfaces in use"), str(found.surfaces), measure(found.area_m2, Quantity.AREA, units), wet=True
        ),
        *(
            Figure(group.state.label.capitalize(), str(group.count), _share(group.count, found.surfaces))
            for group in worst
        ),
    ]
    late = sum(row.late for row in found.due)
    return [*figures, Figure(_("Tests and inspections late"), str(late), _("of those not yet planned"))]


def _share(count: int, whole: int) -> str:
    return _("{share} of all").format(share=percent(count / whole)) if whole else NOTHING


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
        xaxis={"title": {"text": _("Surfaces")}, "rangemode": "tozero"},
        yaxis={"autorange": "reversed", "automargin": True},
        legend=ABOVE,
        showlegend=True,
    )
    left = ""
    if len(groups) > MOST_GROUPS:
        said = _("The {shown} largest of {total}; the table has all.")
        left = f" {said.format(shown=MOST_GROUPS, total=len(groups))}"
    names = (by, *(state.label for state in WORST_FIRST), _("In all"))
    rows = [
        (group.name, *(group.counts[state] or NOTHING for state in WORST_FIRST), group.surfaces)
        for group in groups
    ]
    return Chart(
        "states",
        plot.plain(),
        _("Surfaces by {group}").format(group=by.lower()),
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
        return _("No surface lies below its limit.")
    said = ngettext("{count} surface below the limit.", "{count} surfaces below the limit.", total).format(
        count=total
    )
    if most == 1 or numbers.count(most) > 1:
        return said
    where = _("Most of them: {group}, {count}.")
    if 2 * most <= total:
        where = _("More than in any other: {group}, {count}.")
    return f"{said} {where.format(group=groups[numbers.index(most)].name, count=most)}"


def _unplaced(names: Sequence[str]) -> str:
    if not names:
        return ""
    if len(names) > 5:
        return _("{sites} without a position are not on it.").format(sites=counted(len(names), "site"))
    return _("Without a position, so not on it: {sites}.").format(sites=", ".join(names))


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
        name=_("below limit"),
    )
    plot.update_layout(
        xaxis={"type": "category"},
        yaxis={"title": {"text": _("Tested area below its limit (%)")}, "rangemode": "tozero"},
        showlegend=False,
    )
    first, last = quarters[0], quarters[-1]
    summary = ngettext(
        "{share} of the tested area below its limit at the end of {last}, after {share_first} at the end of {first}. "
        "{count} surface tested so far.",
        "{share} of the tested area below its limit at the end of {last}, after {share_first} at the end of {first}. "
        "{count} surfaces tested so far.",
        last.surfaces,
    ).format(
        share=percent(last.share_below),
        last=last.name,
        share_first=percent(first.share_below),
        first=first.name,
        count=last.surfaces,
    )
    rows = [(quarter.name, percent(quarter.share_below), quarter.surfaces) for quarter in quarters]
    names_of_columns = (_("Quarter"), _("Tested area below its limit"), _("Surfaces tested so far"))
    return Chart(
        "trend", plot.plain(), _("Share of the area below its limit"), summary, names_of_columns, rows
    )


def _clogging(found: PortfolioSnapshot) -> list[Part]:
    parts = (
        (
            "types",
            _("Which kinds clog"),
            found.declines,
            _("Percent of the rate lost a year"),
            _(ABOUT_CLOGGING),
        ),
        (
            "conditions",
            _("Under which conditions"),
            found.conditions,
            _("Percent of the rate lost a year"),
            _(ABOUT_CLOGGING),
        ),
        (
            "gains",
            _("What ways of cleaning gave"),
            as_times(found.gains),
            _("Times the rate before"),
            _(ABOUT_GAINS),
        ),
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
        _("A mark is the median of a group, the line its middle 80 %; in brackets how many the group has.")
        if told
        else _("No group has {number} yet, so none is shown.").format(number=FEWEST)
    )
    columns = (_("Group"), _("How many"), _("Median"), _("Middle 80 %"))
    return Chart(
        key,
        plot.plain(),
        _("{title}: {unit}").format(title=title, unit=f"{unit[0].lower()}{unit[1:]}"),
        summary,
        columns,
        [_spread_row(row) for row in rows],
    )


def _spread_row(row: Spread) -> tuple[str, int, str, str]:
    if row.median is None:
        return row.name, row.number, NOTHING, _(TOO_FEW).format(number=FEWEST)
    return (
        row.name,
        row.number,
        figure(row.median),
        _("{low} to {high}").format(low=figure(row.low), high=figure(row.high)),
    )


def _hours(hours: Hours) -> list[Figure]:
    told = _("as told, {tasks}").format(tasks=counted(hours.done_tasks, "task"))
    if hours.untold:
        told += _("; of {tasks} nobody told").format(tasks=counted(hours.untold, "task"))
    return [
        Figure(
            _("Hours on site, last 12 months"),
            figure(hours.done),
            told,
        ),
        Figure(
            _("Hours of advised work ahead"),
            figure(hours.ahead),
            _("worked out from areas and outputs"),
            term="crew_hours",
        ),
    ]


def _ahead(found: PortfolioSnapshot) -> list[Figure]:
    said = ", ".join(money(one.amount, one.currency) for one in found.ahead)
    return (
        [Figure(_("Advised to you and not yet done"), said, _("as released, without agreements"))]
        if said
        else []
    )


def _spent_row(row: SpentYear) -> list[str]:
    spent = ", ".join(money_words(one) for one in row.spent) or NOTHING
    return [str(row.year), str(row.cleanings), spent, str(row.unpriced) if row.unpriced else NOTHING]
