"""The page of cost and price by month: figures, a chart, tables, and the same as a file."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import NOTHING, fixed, money, said_by
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
ABOUT = gettext_noop(
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
    about: str


def cost_page(found: CostMonths, currency: str) -> CostPage:
    """The page."""
    names = [said_by(month, "LLL y") for month in found.months]
    head = (_("Owner"), *names, _("In all"))
    return CostPage(
        figures=_figures(found, currency),
        chart=_chart(found, currency, names),
        tables=(
            (
                _("Price by owner, {currency}").format(currency=currency),
                head,
                _by_owner(found, lambda s: s.price),
            ),
            (
                _("Cost by owner, {currency}").format(currency=currency),
                head,
                _by_owner(found, lambda s: s.cost),
            ),
        ),
        unknown=_unknown(found.total),
        worked=_worked(found, currency),
        about=_(ABOUT),
    )


def _worked(found: CostMonths, currency: str) -> Worked:
    """How price and cost in all come about, and what is left of the price."""
    sums = [found.of_part[part] for part in (Part.DONE, Part.AHEAD, Part.AGREEMENT)]
    price = " + ".join(_exact(each.price) for each in sums)
    cost = " + ".join(_exact(each.cost) for each in sums)
    whole, spent = _exact(found.total.price), _exact(found.total.cost)
    return Worked(
        _("in all = done + planned + agreements"),
        _("price = {sum} = {total} {currency}").format(sum=price, total=whole, currency=currency),
        _(
            "What only an agreement asks for has no price of its own: the agreement pays it, a twelfth of its yearly "
            "price a month, so that nothing counts twice. Cost is hours on site at the crew's cost of an hour."
        ),
        _("visits, cleanings, quotes and agreements of these months"),
        _("it all"),
        (
            _("cost = {sum} = {total} {currency}").format(sum=cost, total=spent, currency=currency),
            _("left = {price} - {cost} = {left} {currency}").format(
                price=whole,
                cost=spent,
                left=_exact(found.total.price - found.total.cost),
                currency=currency,
            ),
        ),
    )


def _exact(amount: Decimal) -> str:
    return fixed(amount, 2, parted=True)


def _figures(found: CostMonths, currency: str) -> list[Figure]:
    done, ahead, agreed = (found.of_part[part] for part in (Part.DONE, Part.AHEAD, Part.AGREEMENT))
    return [
        Figure(_("Price of what is done"), money(done.price, currency), _cost(done, currency), wet=True),
        Figure(_("Price of what is planned"), money(ahead.price, currency), _cost(ahead, currency)),
        Figure(_("Agreements"), money(agreed.price, currency), _("a twelfth of the yearly price each month")),
        Figure(_("In all"), money(found.total.price, currency), _cost(found.total, currency)),
    ]


def _cost(total: Sum, currency: str) -> str:
    return _("cost {money}").format(money=money(total.cost, currency))


def _unknown(total: Sum) -> str:
    """How many works are not in the sums."""
    no_price = ngettext(
        "{count} work without a known price", "{count} works without a known price", total.no_price
    ).format(count=total.no_price)
    no_cost = ngettext(
        "{count} work without a known cost", "{count} works without a known cost", total.no_cost
    ).format(count=total.no_cost)
    if total.no_price and total.no_cost:
        both = _("Not in these sums: {no_price} and {no_cost}.")
        return both.format(no_price=no_price, no_cost=no_cost)
    if not total.no_price and not total.no_cost:
        return ""
    return _("Not in these sums: {works}.").format(works=no_price if total.no_price else no_cost)


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
        name=_("Cost to the firm"),
        line={"color": "var(--chart-limit)"},
    )
    figure.update_layout(
        template=None,
        barmode="stack",
        xaxis={"type": "category"},
        yaxis={"title": {"text": _("{currency} a month").format(currency=currency)}, "rangemode": "tozero"},
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom"},
    )
    total = found.total
    return Chart(
        "cost-months",
        figure.plain(),
        _("Price and cost by month"),
        _("{price} in all, at a cost of {cost}.").format(
            price=money(total.price, currency), cost=money(total.cost, currency)
        ),
        (
            _("Month, {currency}").format(currency=currency),
            *(part.label for part in Part),
            _("Price in all"),
            _("Cost to the firm"),
        ),
        [_month_row(found, month, name) for month, name in zip(found.months, names, strict=True)],
        tall=True,
    )


def _month_row(found: CostMonths, month: date, name: str) -> list[str]:
    whole = found.of_month[month]
    parts = [cell(found.by_part[month, part].price) for part in Part]
    return [name, *parts, cell(whole.price), cell(whole.cost)]


def _by_owner(found: CostMonths, read: Callable[[Sum], Decimal]) -> list[list[str]]:
    rows = [(owner, [read(found.by_owner[owner, month]) for month in found.months]) for owner in found.owners]
    rows.append((_("All owners"), [read(found.of_month[month]) for month in found.months]))
    return [[name, *(cell(amount) for amount in amounts), cell(sum(amounts))] for name, amounts in rows]


def cell(amount: Decimal | int) -> str:
    """An amount to the whole unit of the currency named above; a dash for nothing, so that the rest stands out."""
    return fixed(Decimal(amount), 0, parted=True) if amount else NOTHING


def export_rows(found: CostMonths, currency: str) -> Iterator[Sequence[Any]]:
    """Each month, owner and part with work in it, as plain numbers, and how many works are in neither sum."""
    for (month, owner, part), each in found.cells.items():
        amounts = float(each.price), float(each.cost), currency
        yield month.isoformat()[:7], owner, part.label, *amounts, each.no_price, each.no_cost
