"""Every list of a portfolio as a file: numbers as numbers, areas in the reader's units."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import Any

from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState
from reporting.calc.portfolio import Spread, StateGroup
from reporting.calc.portfolio_snapshot import PortfolioSnapshot, SpentYear


@dataclass(frozen=True, slots=True)
class Table:
    """One list of the page as a file: its head and its rows, numbers as numbers."""

    headers: Sequence[str]
    rows: Sequence[Sequence[Any]]


def as_times(gains: Sequence[Spread]) -> list[Spread]:
    """Logarithms as factors."""
    return [
        Spread(
            one.name,
            one.number,
            *(None if part is None else exp(part) for part in (one.median, one.low, one.high)),
        )
        for one in gains
    ]


def tables(found: PortfolioSnapshot, units: str) -> dict[str, Table]:
    """Every list of the page as a file, by the key that its address names."""
    area = unit_of(Quantity.AREA, UnitSystem(units))
    made = {
        "states": Table(
            (
                found.by.label,
                *(state.label for state in WORST_FIRST),
                "surfaces",
                f"area ({area})",
                f"area below its limit ({area})",
            ),
            [_state_cells(group, units) for group in found.groups],
        ),
        "sites": Table(
            ("site", "state", "surfaces", "latitude (deg)", "longitude (deg)"),
            [
                (one.name, one.state.label, one.surfaces, one.latitude_deg, one.longitude_deg)
                for one in found.sites
            ],
        ),
        "due": Table(
            ("what", "late", "within 30 days", "later", "planned"), [tuple(row) for row in found.due]
        ),
        "trend": Table(
            ("quarter", "last day", "share of tested area below its limit", "surfaces tested so far"),
            [(one.name, one.ends_on.isoformat(), one.share_below, one.surfaces) for one in found.trend],
        ),
        "spent": Table(
            ("year", "cleanings", "spent", "currency", "cleanings without a price"),
            [row for year in found.spent for row in _spent_rows(year)],
        ),
    }
    for key, rows in (
        ("types", found.declines),
        ("conditions", found.conditions),
        ("gains", as_times(found.gains)),
    ):
        made[key] = Table(
            ("group", "number", "median", "10th percentile", "90th percentile"),
            [(row.name, row.number, row.median, row.low, row.high) for row in rows],
        )
    return made


def _spent_rows(year: SpentYear) -> list[Sequence[Any]]:
    """A row a currency; one without an amount where no cleaning of the year has a price."""
    amounts: list[tuple[float | None, str]] = [(float(one.amount), one.currency) for one in year.spent]
    return [
        (year.year, year.cleanings, amount, currency, year.unpriced)
        for amount, currency in amounts or [(None, "")]
    ]


def _state_cells(group: StateGroup, units: str) -> Sequence[Any]:
    def shown(area_m2: float) -> float:
        return round(to_display(area_m2, Quantity.AREA, UnitSystem(units)).value, 1)

    counts = (group.counts[state] for state in WORST_FIRST)
    return (
        group.name,
        *counts,
        group.surfaces,
        shown(group.area_m2),
        shown(group.areas[SurfaceState.BELOW_LIMIT]),
    )
