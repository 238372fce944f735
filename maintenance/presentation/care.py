"""The page on what care is worth its money at a surface."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from core.calc.format import money, percent
from maintenance.calc.care_payload import CareComparison, CareKind, CareOutcome
from maintenance.models import Forecast
from maintenance.presentation.care_charts import frontier_figure, years_figure
from maintenance.presentation.care_words import changes, lead_sentence, outcome_name, uses_words
from maintenance.presentation.worked import worked_care
from qa.models import Surface
from qa.presentation.worked import Worked

COLUMNS = (
    "Programme",
    "Cost a year",
    "80 % range",
    "Time within",
    "Months below a year",
    "Within all ten years",
    "Done",
)
YEAR_COLUMNS = ("Year", "Works and tests", "80 % range", "Months below")


@dataclass(frozen=True, slots=True)
class RivalLine:
    """One of the programmes that are set side by side."""

    role: str
    name: str
    done: str
    cost_a_year: str
    months_below: str
    chance_within: str
    total_10: str
    total_20: str


@dataclass(frozen=True, slots=True)
class CarePage:
    """Everything the page says. frontier, years: plotly figures; the rows say the same in words."""

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
    columns: tuple[str, ...] = COLUMNS
    year_columns: tuple[str, ...] = YEAR_COLUMNS


def care_page(
    surface: Surface, forecast: Forecast | None, below_price: Decimal, units: str
) -> CarePage | None:
    """The page from the stored comparison; None before the first. below_price: what is set now, a square metre."""
    outlook = forecast.outlook if forecast else None
    compared = outlook.care if outlook else None
    if compared is None or forecast is None or forecast.made_on is None:
        return None
    currency, year = surface.organisation.currency, forecast.made_on.year
    chosen = compared.chosen
    return CarePage(
        lead=lead_sentence(compared, surface.area_m2, currency),
        rivals=_rivals(compared, currency),
        changes=changes(compared, currency, units),
        frontier=frontier_figure(compared, currency),
        frontier_summary=_summary(compared, currency),
        rows=tuple(_row(outcome, currency) for outcome in _in_order(compared)),
        years=years_figure(chosen, year, currency),
        years_summary=_years_summary(chosen, year, currency),
        year_rows=_year_rows(chosen, year, currency),
        futures=compared.futures,
        is_of_another_value=compared.below_price_m2_yr != float(below_price),
        worked=worked_care(chosen, currency),
    )


def _in_order(compared: CareComparison) -> list[CareOutcome]:
    return sorted(compared.outcomes, key=lambda outcome: outcome.cost_a_year.mean)


def _rivals(compared: CareComparison, currency: str) -> tuple[RivalLine, ...]:
    roles = [("Suggested", compared.chosen), ("Next best", compared.next_best)]
    nothing = compared.of(CareKind.NOTHING)
    if nothing and compared.chosen.kind is not CareKind.NOTHING:
        roles.append(("For comparison", nothing))
    agreed = compared.of(CareKind.AGREED)
    if agreed and agreed is not compared.next_best:
        roles.append(("Today's practice", agreed))
    return tuple(_rival(role, outcome, currency) for role, outcome in roles)


def _rival(role: str, outcome: CareOutcome, currency: str) -> RivalLine:
    return RivalLine(
        role,
        outcome_name(outcome, currency),
        uses_words(outcome),
        money(outcome.cost_a_year.mean, currency),
        f"{outcome.months_below:.1f}",
        percent(outcome.chance_within),
        money(outcome.total_10, currency),
        money(outcome.total_20, currency),
    )


def _row(outcome: CareOutcome, currency: str) -> tuple[str, ...]:
    cost = outcome.cost_a_year
    return (
        outcome_name(outcome, currency),
        money(cost.mean, currency),
        f"{money(cost.lo80, currency)} to {money(cost.hi80, currency)}",
        percent(outcome.share_within),
        f"{outcome.months_below:.1f}",
        percent(outcome.chance_within),
        uses_words(outcome),
    )


def _summary(compared: CareComparison, currency: str) -> str:
    cheapest, dearest = _in_order(compared)[0], _in_order(compared)[-1]
    chosen = compared.chosen
    return (
        f"From {money(cheapest.cost_a_year.mean, currency)} a year with {percent(cheapest.share_within)} of the time "
        f"within the limit to {money(dearest.cost_a_year.mean, currency)} with {percent(dearest.share_within)}. "
        f"Suggested: {money(chosen.cost_a_year.mean, currency)} a year, {percent(chosen.share_within)} within."
    )


def _years_summary(chosen: CareOutcome, first: int, currency: str) -> str:
    total = sum(year.cost.mean for year in chosen.by_year)
    most = max(range(len(chosen.by_year)), key=lambda i: chosen.by_year[i].cost.mean)
    return (
        f"{money(total, currency)} over ten years, most of it in year {first + most} with "
        f"{money(chosen.by_year[most].cost.mean, currency)}."
    )


def _year_rows(chosen: CareOutcome, first: int, currency: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            str(first + i),
            money(year.cost.mean, currency),
            f"{money(year.cost.lo80, currency)} to {money(year.cost.hi80, currency)}",
            f"{year.months_below:.1f}",
        )
        for i, year in enumerate(chosen.by_year)
    )
