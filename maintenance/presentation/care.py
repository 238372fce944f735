"""The page on what care is worth its money at a surface."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, pgettext

from core.calc.format import day, fixed, money, percent
from core.calc.units import Quantity, UnitSystem, price_to_display
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome, Spread
from maintenance.models import Forecast
from maintenance.presentation.care_charts import frontier_figure, years_figure
from maintenance.presentation.care_words import changes, lead_sentence, outcome_name, uses_words
from maintenance.presentation.worked import worked_care
from qa.models import Surface
from qa.presentation.worked import Worked

COLUMNS = (
    gettext_noop("Programme"),
    gettext_noop("Cost a year"),
    gettext_noop("80 % range"),
    gettext_noop("Time within"),
    gettext_noop("Months below a year"),
    gettext_noop("Within all ten years"),
    "Done",
)
YEAR_COLUMNS = (
    gettext_noop("Year"),
    gettext_noop("Works and tests"),
    gettext_noop("80 % range"),
    gettext_noop("Months below"),
)


@dataclass(frozen=True, slots=True)
class RivalLine:
    """One of the programmes that are set side by side. worth: of a year within a m2, by which it would be chosen."""

    role: str
    name: str
    done: str
    cost_a_year: str
    months_below: str
    chance_within: str
    total_10: str
    total_20: str
    worth: str = ""


@dataclass(frozen=True, slots=True)
class CarePage:
    """Everything the page says. frontier, years: plotly figures; the rows say the same in words.

    on: the day from which it was compared
    """

    lead: str
    rivals: tuple[RivalLine, ...]
    changes: tuple[str, ...]
    frontier: dict[str, Any]
    frontier_summary: str
    rows: tuple[tuple[str, ...], ...]
    years: dict[str, Any]
    years_summary: str
    year_rows: tuple[tuple[str, ...], ...]
    futures: int
    is_of_another_value: bool
    worked: Worked | None
    on: str
    columns: tuple[str, ...] = field(default_factory=lambda: _columns())
    year_columns: tuple[str, ...] = field(default_factory=lambda: tuple(map(_, YEAR_COLUMNS)))


def _columns() -> tuple[str, ...]:
    """The last says by which methods it is done, not that it is over."""
    return (*map(_, COLUMNS[:-1]), pgettext("by method", "Done"))


def care_page(
    surface: Surface, forecast: Forecast | None, below_price: Decimal, units: str
) -> CarePage | None:
    """The page from the stored comparison; None before the first. below_price: what is set now, a square metre."""
    outlook = forecast.outlook if forecast else None
    compared = outlook.care if outlook else None
    if compared is None or outlook is None or forecast is None or forecast.made_on is None:
        return None
    currency, chosen = surface.organisation.currency, compared.chosen
    on = outlook.care_on or forecast.made_on
    year = on.year
    return CarePage(
        lead=lead_sentence(compared, surface.area_m2, currency, units),
        rivals=_rivals(compared, currency, units),
        changes=changes(compared, currency, units),
        frontier=frontier_figure(compared, currency, units),
        frontier_summary=_summary(compared, currency),
        rows=tuple(_row(outcome, currency, units) for outcome in _in_order(compared)),
        years=years_figure(chosen, year, currency),
        years_summary=_years_summary(chosen, year, currency),
        year_rows=_year_rows(chosen, year, currency),
        futures=compared.futures,
        is_of_another_value=compared.below_price_m2_yr != float(below_price),
        worked=worked_care(chosen, currency),
        on=day(on),
    )


def _in_order(compared: CareComparison) -> list[CareOutcome]:
    return sorted(compared.outcomes, key=lambda outcome: outcome.cost_a_year.mean)


def _rivals(compared: CareComparison, currency: str, units: str) -> tuple[RivalLine, ...]:
    roles = [(_("Suggested"), compared.chosen), (_("Next best"), compared.next_best)]
    nothing = compared.of(CareKind.NOTHING)
    if nothing and compared.chosen.kind is not CareKind.NOTHING:
        roles.append((_("For comparison"), nothing))
    agreed = compared.of(CareKind.AGREED)
    if agreed and agreed is not compared.next_best:
        roles.append((_("Today's practice"), agreed))
    return tuple(_rival(role, outcome, currency, units) for role, outcome in roles)


def _rival(role: str, outcome: CareOutcome, currency: str, units: str) -> RivalLine:
    return RivalLine(
        role,
        outcome_name(outcome, currency, units),
        uses_words(outcome),
        money(outcome.cost_a_year.mean, currency),
        fixed(outcome.months_below, 1),
        percent(outcome.chance_within),
        money(outcome.total_10, currency),
        money(outcome.total_20, currency),
        _worth(outcome),
    )


def _worth(outcome: CareOutcome) -> str:
    is_other = outcome.kind in (CareKind.LESS, CareKind.MORE)
    if not is_other:
        return ""
    return (
        f"{price_to_display(outcome.programme.worth_m2_yr or 0.0, Quantity.PRICE_BY_AREA, UnitSystem.SI):f}"
    )


def _row(outcome: CareOutcome, currency: str, units: str) -> tuple[str, ...]:
    cost = outcome.cost_a_year
    return (
        outcome_name(outcome, currency, units),
        money(cost.mean, currency),
        _range(cost, currency),
        percent(outcome.share_within),
        fixed(outcome.months_below, 1),
        percent(outcome.chance_within),
        uses_words(outcome),
    )


def _range(cost: Spread, currency: str) -> str:
    return _("{low} to {high}").format(low=money(cost.lo80, currency), high=money(cost.hi80, currency))


def _summary(compared: CareComparison, currency: str) -> str:
    cheapest, dearest = _in_order(compared)[0], _in_order(compared)[-1]
    chosen = compared.chosen
    return _(
        "From {least} a year with {least_within} of the time within the limit to {most} with {most_within}. "
        "Suggested: {suggested} a year, {suggested_within} within."
    ).format(
        least=money(cheapest.cost_a_year.mean, currency),
        least_within=percent(cheapest.share_within),
        most=money(dearest.cost_a_year.mean, currency),
        most_within=percent(dearest.share_within),
        suggested=money(chosen.cost_a_year.mean, currency),
        suggested_within=percent(chosen.share_within),
    )


def _years_summary(chosen: CareOutcome, first: int, currency: str) -> str:
    total = sum(year.cost.mean for year in chosen.by_year)
    most = max(range(len(chosen.by_year)), key=lambda i: chosen.by_year[i].cost.mean)
    return _("{total} over ten years, most of it in year {year} with {cost}.").format(
        total=money(total, currency),
        year=first + most,
        cost=money(chosen.by_year[most].cost.mean, currency),
    )


def _year_rows(chosen: CareOutcome, first: int, currency: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            str(first + i),
            money(year.cost.mean, currency),
            _range(year.cost, currency),
            fixed(year.months_below, 1),
        )
        for i, year in enumerate(chosen.by_year)
    )
