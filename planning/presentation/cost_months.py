"""The page of cost and price by month: figures, a chart, tables, and the same as a file."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from core.calc.format import NOTHING, counted, money
from core.presentation.charts import Chart
from core.presentation.figures import Figure
from core.presentation.plotting import Figure as Plot
from planning.calc.cost_months import CostMonths, Part, Sum
from qa.presentation.worked import Worked

COLOURS = {Part.DONE: "var(--chart-1)", Part.AHEAD: "var(--chart-2)", Part.AGREEMENT: "var(--chart-3)"}
HEADERS = (
    "Month",
    "Owner",
    "Part",
    "Price",
    "Cost to the firm",
    "Currency",
    "Works without a price",
    "Works without a cost",
)
ABOUT = (
    "Price is what owners pay: as charged, else as approved in a quote without its tax, else as advised. "
    "Cost is what the work costs the firm: hours on site at the crew's cost of an hour, or what a subcontracted crew "
    "charges. The way there is in neither. What only an agreement asks for is paid by the agreement, a twelfth a month."
)


@dataclass(frozen=True, slots=True)
class CostPage:
    """Everything the page shows. tables: title, header cells and rows, the last of them the totals."""

    figures: Sequence[Figure]
    chart: Chart
    tables: Sequence[tuple[str, Sequence[str], Sequence[Sequence[str]]]]
    unknown: str
    worked: Worked
    about: str = ABOUT


def cost_page(found: CostMonths, currency: str) -> CostPage:
    """The page."""
    names = [f"{month:%b %Y}" for month in found.months]
    return CostPage(
        figures=_figures(found, currency),
        chart=_chart(found, currency, names),
        tables=(
            (f"Price by owner, {currency}", ("Owner", *names, "In all"), _by_owner(found, lambda s: s.price)),
            (f"Cost by owner, {currency}", ("Owner", *names, "In all"), _by_owner(found, lambda s: s.cost)),
        ),
        unknown=_unknown(found.total),
        worked=_worked(found, currency),
    )


def _worked(found: CostMonths, currency: str) -> Worked:
    """How price and cost in all come about, and what is left of the price."""
    sums = [found.of_part[part] for part in (Part.DONE, Part.AHEAD, Part.AGREEMENT)]
    price = " + ".join(f"{each.price:,.2f}" for each in sums)
    cost = " + ".join(f"{each.cost:,.2f}" for each in sums)
    total = found.total
    return Worked(
        "in all = done + planned + agreements",
        f"price = {price} = {total.price:,.2f} {currency}",
        "What only an agreement asks for has no price of its own: the agreement pays it, a twelfth of its yearly price "
        "a month, so that nothing counts twice. Cost is hours on site at the crew's cost of an hour.",
        "visits, cleanings, quotes and agreements of these months",
        "it all",
        (
            f"cost = {cost} = {total.cost:,.2f} {currency}",
            f"left = {total.price:,.2f} - {total.cost:,.2f} = {total.price - total.cost:,.2f} {currency}",
        ),
    )


def _figures(found: CostMonths, currency: str) -> list[Figure]:
    done, ahead, agreed = (found.of_part[part] for part in (Part.DONE, Part.AHEAD, Part.AGREEMENT))
    return [
        Figure(
            "Price of what is done",
            money(done.price, currency),
            f"cost {money(done.cost, currency)}",
            wet=True,
        ),
        Figure(
            "Price of what is planned", money(ahead.price, currency), f"cost {money(ahead.cost, currency)}"
        ),
        Figure("Agreements", money(agreed.price, currency), "a twelfth of the yearly price each month"),
        Figure("In all", money(found.total.price, currency), f"cost {money(found.total.cost, currency)}"),
    ]


def _unknown(total: Sum) -> str:
    """How many works are not in the sums."""
    missing = [
        f"{counted(number, 'work')} without a known {what}"
        for number, what in ((total.no_price, "price"), (total.no_cost, "cost"))
        if number
    ]
    return f"Not in these sums: {' and '.join(missing)}." if missing else ""


def _chart(found: CostMonths, currency: str, names: Sequence[str]) -> Chart:
    figure = Plot()
    for part in Part:
        prices = [float(found.by_part[month, part].price) for month in found.months]
        figure.add_bar(x=list(names), y=prices, name=part.label, marker={"color": COLOURS[part]})
    costs = [float(found.of_month[month].cost) for month in found.months]
    figure.add_scatter(
        x=list(names),
        y=costs,
        mode="lines+markers",
        name="Cost to the firm",
        line={"color": "var(--chart-limit)"},
    )
    figure.update_layout(
        template=None,
        barmode="stack",
        xaxis={"type": "category"},
        yaxis={"title": {"text": f"{currency} a month"}, "rangemode": "tozero"},
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom"},
    )
    total = found.total
    return Chart(
        "cost-months",
        figure.plain(),
        "Price and cost by month",
        f"{money(total.price, currency)} in all, at a cost of {money(total.cost, currency)}.",
        (f"Month, {currency}", *(part.label for part in Part), "Price in all", "Cost to the firm"),
        [_month_row(found, month, name) for month, name in zip(found.months, names, strict=True)],
        tall=True,
    )


def _month_row(found: CostMonths, month: date, name: str) -> list[str]:
    whole = found.of_month[month]
    parts = [cell(found.by_part[month, part].price) for part in Part]
    return [name, *parts, cell(whole.price), cell(whole.cost)]


def _by_owner(found: CostMonths, read: Callable[[Sum], Decimal]) -> list[list[str]]:
    rows = [(owner, [read(found.by_owner[owner, month]) for month in found.months]) for owner in found.owners]
    rows.append(("All owners", [read(found.of_month[month]) for month in found.months]))
    return [[name, *(cell(amount) for amount in amounts), cell(sum(amounts))] for name, amounts in rows]


def cell(amount: Decimal | int) -> str:
    """An amount to the whole unit of the currency named above; a dash for nothing, so that the rest stands out."""
    return f"{amount:,.0f}" if amount else NOTHING


def export_rows(found: CostMonths, currency: str) -> Iterator[Sequence[Any]]:
    """Each month, owner and part with work in it, as plain numbers, and how many works are in neither sum."""
    for (month, owner, part), each in found.cells.items():
        amounts = float(each.price), float(each.cost), currency
        yield month.isoformat()[:7], owner, part.label, *amounts, each.no_price, each.no_cost
