"""Ways of caring for a surface as plotly figures. No queries here."""

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.presentation.plotting import Figure
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome
from maintenance.presentation.care_words import outcome_name
from maintenance.presentation.charts import LEGEND_ABOVE

ALONG = (CareKind.LESS, CareKind.ADVISED, CareKind.MORE)
MARKS = (
    (gettext_noop("By calendar"), (CareKind.CALENDAR, CareKind.STRONGER), "diamond", "var(--chart-2)"),
    (gettext_noop("As agreed today"), (CareKind.AGREED,), "square", "var(--chart-3)"),
    (gettext_noop("Nothing"), (CareKind.NOTHING,), "x", "var(--chart-limit)"),
    (gettext_noop("Sediment stopped first"), (CareKind.SOURCE,), "triangle-up", "var(--chart-4)"),
    (gettext_noop("Without tests"), (CareKind.UNTESTED,), "circle-open", "var(--chart-1)"),
)


def frontier_figure(compared: CareComparison, currency: str, units: str) -> dict[str, Any]:
    """Cost a year against the share of time within the limit, the suggested programme marked."""
    figure = Figure()
    along = sorted(
        (o for o in compared.outcomes if o.kind in ALONG), key=lambda o: o.programme.worth_m2_yr or 0.0
    )
    advised = _("As advised, for what a year within is worth")
    _points(figure, advised, along, currency, units, symbol="circle", lines=True)
    for name, kinds, symbol, colour in MARKS:
        found = [o for o in compared.outcomes if o.kind in kinds]
        if found:
            _points(figure, _(name), found, currency, units, symbol=symbol, colour=colour)
    chosen = compared.chosen
    figure.add_scatter(
        x=[chosen.cost_a_year.mean],
        y=[100.0 * chosen.share_within],
        mode="markers",
        marker={"symbol": "circle-open", "size": 22, "line": {"width": 3}, "color": "var(--chart-cleaning)"},
        hoverinfo="skip",
        name=_("Suggested"),
    )
    figure.update_layout(
        xaxis={
            "title": {"text": _("Works and tests, {currency} a year").format(currency=currency)},
            "rangemode": "tozero",
        },
        yaxis={"title": {"text": _("Time within the limit (%)")}},
        legend=LEGEND_ABOVE,
        hovermode="closest",
    )
    return figure.plain()


def _points(
    figure: Figure,
    name: str,
    outcomes: Sequence[CareOutcome],
    currency: str,
    units: str,
    *,
    symbol: str,
    colour: str = "var(--chart-1)",
    lines: bool = False,
) -> None:
    said = _("{cost} a year, {share} % within").format(cost="%{x:,.0f} " + currency, share="%{y:.1f}")
    figure.add_scatter(
        x=[o.cost_a_year.mean for o in outcomes],
        y=[100.0 * o.share_within for o in outcomes],
        mode="lines+markers" if lines else "markers",
        line={"color": colour, "width": 2},
        marker={"symbol": symbol, "size": 10, "color": colour},
        text=[outcome_name(o, currency, units) for o in outcomes],
        hovertemplate="%{text}<br>" + said + "<extra></extra>",
        name=name,
    )


def years_figure(outcome: CareOutcome, first_year: int, currency: str) -> dict[str, Any]:
    """Money for works and tests by year, with the 80 % range between futures."""
    figure = Figure()
    cost = [year.cost for year in outcome.by_year]
    figure.add_bar(
        x=[first_year + i for i in range(len(cost))],
        y=[spread.mean for spread in cost],
        marker={"color": "var(--chart-1)"},
        error_y={
            "type": "data",
            "array": [max(spread.hi80 - spread.mean, 0.0) for spread in cost],
            "arrayminus": [max(spread.mean - spread.lo80, 0.0) for spread in cost],
            "color": "var(--chart-soft)",
        },
        hovertemplate="%{x}: %{y:,.0f} " + currency + "<extra></extra>",
        name=_("Works and tests"),
    )
    figure.update_layout(
        xaxis={"dtick": 1, "title": {"text": _("Year from today")}},
        yaxis={"title": {"text": _("{currency} a year").format(currency=currency)}, "rangemode": "tozero"},
        showlegend=False,
    )
    return figure.plain()
