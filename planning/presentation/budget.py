"""The page on a yearly sum: figures, charts with their tables, and the same as a spreadsheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import FileResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from core.calc.format import area_unit, counted, format_measure, money, percent, price
from core.calc.units import Quantity, UnitSystem, to_display
from core.presentation.charts import Chart
from core.presentation.exports import Sheet, workbook_response
from core.presentation.figures import Figure
from core.presentation.plotting import Figure as Plot
from maintenance.models import Recommendation
from planning.calc.budget import PlanYear
from planning.selectors.budget import Budget, YearsWork

COLOURS = (*(f"var(--chart-{n})" for n in (1, 2, 3, 4)), "var(--chart-cleaning)", "var(--chart-soft)")


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One advised work in this year's list."""

    row: Recommendation
    price: str
    waiting: str


@dataclass(frozen=True, slots=True)
class BudgetPage:
    """Everything the page shows. too_little: what even the least care costs, where the sum is below it."""

    figures: Sequence[Figure]
    too_little: str
    unknown: int
    frontier: Chart
    years: Chart
    owners: Sequence[Sequence[str]]
    kinds: Sequence[Sequence[str]]
    year_names: Sequence[str]
    over: str
    done: Sequence[WorkRow]
    left: Sequence[WorkRow]
    work: str


def budget_page(budget: Budget, currency: str, first_year: int, units: str) -> BudgetPage:
    """The page, in the reader's units. first_year: the calendar year that the plan begins in."""
    names = [str(first_year + i) for i in range(len(budget.years))]
    least = budget.line[0][0].cost
    return BudgetPage(
        figures=_figures(budget, currency),
        too_little=money(least, currency) if budget.care is None else "",
        unknown=budget.unknown,
        frontier=_frontier(budget, currency),
        years=_years(budget, currency, names, units),
        owners=_breakdown([year.by_owner for year in budget.years], currency),
        kinds=_breakdown([year.by_kind for year in budget.years], currency),
        year_names=names,
        over=_over(budget, currency, names),
        done=_rows(budget.work.done if budget.work else (), currency),
        left=_rows(budget.work.left if budget.work else (), currency),
        work=_work_words(budget, currency),
    )


def _figures(budget: Budget, currency: str) -> list[Figure]:
    care = budget.shown
    free_share = budget.line[-1][1]
    surfaces = counted(len(budget.surfaces), "surface")
    return [
        Figure(_("Spent a year, on average"), money(care.cost, currency), _("over ten years"), wet=True),
        Figure(
            _("Area and time below the limit"),
            percent(budget.below),
            _("{share} without a sum").format(share=percent(free_share)),
        ),
        Figure(
            _("Without a sum"),
            money(budget.free.cost, currency),
            _("a year for {surfaces}").format(surfaces=surfaces),
        ),
        _counted_as(care.mu),
    ]


def _counted_as(mu: float) -> Figure:
    """mu: what a unit of money is worth beside the price of a year below; 0 where no sum presses."""
    if mu <= 0.0:
        return Figure(_("A year below counts as"), _("its price"), _("no sum presses"), term="worth_within")
    share = percent(1.0 / (1.0 + mu))
    return Figure(_("A year below counts as"), share, _("of its price, to fit the sum"), term="worth_within")


def _frontier(budget: Budget, currency: str) -> Chart:
    figure = Plot()
    figure.add_scatter(
        x=[care.cost for care, _share in budget.line],
        y=[100.0 * share for _care, share in budget.line],
        mode="lines+markers",
        line={"color": "var(--chart-1)", "width": 2},
        hovertemplate=_hover(currency),
        name=_("Best for the sum"),
    )
    if budget.amount is not None:
        figure.add_vline(x=budget.amount, line={"color": "var(--chart-limit)", "dash": "dash"})
    figure.update_layout(
        template=None,
        xaxis={
            "title": {"text": _("Works and tests, {currency} a year").format(currency=currency)},
            "rangemode": "tozero",
        },
        yaxis={"title": {"text": _("Area and time below the limit (%)")}, "rangemode": "tozero"},
        showlegend=False,
    )
    (low, most), (high, least) = budget.line[0], budget.line[-1]
    return Chart(
        "budget-frontier",
        figure.plain(),
        _("Money against time below the limit"),
        _("From {low} a year with {most} of area and time below the limit to {high} with {least}.").format(
            low=money(low.cost, currency),
            most=percent(most),
            high=money(high.cost, currency),
            least=percent(least),
        ),
        (_("Money a year"), _("Area and time below")),
        [(money(care.cost, currency), percent(share)) for care, share in budget.line],
    )


def _hover(currency: str) -> str:
    """What is told of a point; the chart itself fills in the numbers."""
    said = _("{x} {currency} a year, {y} % below")
    return said.format(x="%{x:,.0f}", currency=currency, y="%{y:.1f}") + "<extra></extra>"


def _years(budget: Budget, currency: str, names: Sequence[str], units: str) -> Chart:
    figure, years = Plot(), budget.years
    kinds = _in_order([year.by_kind for year in years])
    for kind, colour in zip(kinds, (COLOURS * 4)[: len(kinds)], strict=True):
        values = [year.by_kind.get(kind, 0.0) for year in years]
        figure.add_bar(x=list(names), y=values, name=kind, marker={"color": colour})
    figure.add_scatter(
        x=list(names),
        y=[year.mean for year in years],
        mode="markers",
        marker={"color": "var(--chart-limit)", "size": 5},
        error_y={
            "type": "data",
            "symmetric": False,
            "array": [year.high - year.mean for year in years],
            "arrayminus": [year.mean - year.low for year in years],
        },
        name=_("All, with the 80 % range"),
    )
    if budget.amount is not None:
        figure.add_hline(y=budget.amount, line={"color": "var(--chart-limit)", "dash": "dash"})
    figure.update_layout(
        template=None,
        barmode="stack",
        xaxis={"type": "category"},
        yaxis={"title": {"text": _("{currency} a year").format(currency=currency)}, "rangemode": "tozero"},
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom"},
    )
    total = sum(year.mean for year in years)
    rows = [
        (
            name,
            money(year.mean, currency),
            _("{low} to {high}").format(low=money(year.low, currency), high=money(year.high, currency)),
            format_measure(year.below_m2_yr, Quantity.AREA, units),
        )
        for name, year in zip(names, years, strict=True)
    ]
    return Chart(
        "budget-years",
        figure.plain(),
        _("Works and tests by year"),
        _("{money} over {years}.").format(money=money(total, currency), years=counted(len(years), "year")),
        (_("Year"), _("Works and tests"), _("80 % range"), _("Area below, on average")),
        rows,
        tall=True,
    )


def _in_order(years: Sequence[Any]) -> list[str]:
    """Names by what they come to over all years, the dearest first."""
    sums: dict[str, float] = {}
    for year in years:
        for name, amount in year.items():
            sums[name] = sums.get(name, 0.0) + amount
    return sorted(sums, key=lambda name: -sums[name])


def _breakdown(years: Sequence[Any], currency: str) -> list[list[str]]:
    return [[name, *(money(year.get(name, 0.0), currency) for year in years)] for name in _in_order(years)]


def _over(budget: Budget, currency: str, names: Sequence[str]) -> str:
    """Which years cost more than the sum, which holds for the average of them."""
    if budget.amount is None:
        return ""
    over = [
        f"{name} ({money(year.mean, currency)})"
        for name, year in zip(names, budget.years, strict=True)
        if year.mean > budget.amount
    ]
    return ", ".join(over)


def _rows(rows: Sequence[Recommendation], currency: str) -> list[WorkRow]:
    return [
        WorkRow(row, price(row.cost or Decimal(0), currency), money(float(row.waiting_costs), currency))
        for row in rows
    ]


def _work_words(budget: Budget, currency: str) -> str:
    if budget.work is None:
        return ""
    chosen, committed = budget.work.chosen, float(budget.work.committed)
    if budget.amount is not None and committed >= budget.amount:
        said = _(
            "Planned or agreed already: {committed}, which leaves nothing of the sum. What falls off costs {left} a "
            "quarter."
        )
    else:
        said = ngettext(
            "Planned or agreed already: {committed}. Of the rest {count} work for {cost}, which together save {gain} "
            "against waiting a quarter. What falls off costs {left} a quarter.",
            "Planned or agreed already: {committed}. Of the rest {count} works for {cost}, which together save {gain} "
            "against waiting a quarter. What falls off costs {left} a quarter.",
            len(chosen.works),
        )
    amounts = {"committed": committed, "cost": chosen.cost, "gain": chosen.gain, "left": chosen.left}
    words = {name: money(amount, currency) for name, amount in amounts.items()}
    return said.format(count=len(chosen.works), **words)


def workbook(budget: Budget, currency: str, first_year: int, units: str) -> FileResponse:
    """The plan as a spreadsheet: by year, by owner, by kind, and this year's works. Amounts are plain numbers.

    units: of the reader, for areas.
    """
    names = [str(first_year + i) for i in range(len(budget.years))]
    mean = _("Mean ({currency})").format(currency=currency)
    columns = (_("Year"), mean, _("80 % low"), _("80 % high"), _area_head(units))
    years = [
        (name, *(round(v, 2) for v in (year.mean, year.low, year.high, _area(year, units))))
        for name, year in zip(names, budget.years, strict=True)
    ]
    sheets = [Sheet(_("By year"), columns, years)]
    for title, head, parts in (
        (_("By owner"), _("Owner ({currency})"), [year.by_owner for year in budget.years]),
        (_("By kind"), _("Kind ({currency})"), [year.by_kind for year in budget.years]),
    ):
        rows = [[name, *(round(part.get(name, 0.0), 2) for part in parts)] for name in _in_order(parts)]
        sheets.append(Sheet(title, (head.format(currency=currency), *names), rows))
    if budget.work:
        sheets.append(_work_sheet(budget.work, currency))
    return workbook_response(sheets, "budget")


def _area_head(units: str) -> str:
    return _("Area below ({unit} a year)").format(unit=area_unit(units))


def _area(year: PlanYear, units: str) -> float:
    return to_display(year.below_m2_yr, Quantity.AREA, UnitSystem(units)).value


def _work_sheet(work: YearsWork, currency: str) -> Sheet:
    done = [_cells(row, _("this year")) for row in work.done]
    # Translators: of advised work that is not done this year.
    left = [_cells(row, _("waits")) for row in work.left]
    price_head = _("Price ({currency})").format(currency=currency)
    waiting = _("A quarter's waiting ({currency})").format(currency=currency)
    return Sheet(_("This year"), (_("Surface"), _("Advice"), _("When"), price_head, waiting), [*done, *left])


def _cells(row: Recommendation, when: str) -> tuple[Any, ...]:
    return str(row.surface), row.title, when, float(row.cost or 0), float(row.waiting_costs)
