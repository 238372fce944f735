"""The list of surfaces as rows of a file: plain values, numbers in the person's units."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from core.calc.paving import SurfaceType
from core.calc.units import Quantity, UnitSystem, to_display, unit_of
from maintenance.calc.vocabulary import SurfaceState
from qa.models import Surface

ROWS_AT_ONCE = 2_000
_COLUMNS = (
    "name",
    "site__name",
    "surface_type",
    "area_m2",
    "forecast__surface_state",
    "forecast__rate_now_mm_h",
    "limit_mm_h",
    "forecast__share_below_now",
    "forecast__below_50_on",
    "opened_on",
    "site__time_zone",
)


class _Row(NamedTuple):
    """One surface, by the columns above."""

    name: str
    site: str
    surface_type: str
    area_m2: float
    state: str | None
    rate_mm_h: float | None
    limit_mm_h: float
    share_below: float | None
    below_50_on: date | None
    opened_on: date
    time_zone: str


def surface_headers(units: str) -> list[str]:
    """Names of the columns, with units where no unit stands beside a number."""
    area, rate = (unit_of(quantity, UnitSystem(units)) for quantity in (Quantity.AREA, Quantity.RATE))
    return [
        _("Surface"),
        _("Site"),
        _("Type"),
        _("Area ({unit})").format(unit=area),
        _("State"),
        _("Rate now, estimated ({unit})").format(unit=rate),
        _("Limit ({unit})").format(unit=rate),
        _("Chance below limit"),
        _("Likely at the limit by"),
    ]


def surface_rows(surfaces: QuerySet[Surface], units: str, at: datetime) -> Iterator[Sequence[Any]]:
    """A row a surface, read piece by piece. at: the instant that says which surfaces are not open yet."""
    system = UnitSystem(units)

    @cache
    def today(zone: str) -> date:
        return at.astimezone(ZoneInfo(zone)).date()

    for values in surfaces.values_list(*_COLUMNS).iterator(ROWS_AT_ONCE):
        row = _Row(*values)
        yield _cells(row, system, is_open=row.opened_on <= today(row.time_zone))


def _cells(row: _Row, system: UnitSystem, *, is_open: bool) -> Sequence[Any]:
    """What is only forecast has no value before the surface is open."""
    return (
        row.name,
        row.site,
        SurfaceType(row.surface_type).label,
        _number(row.area_m2, Quantity.AREA, system),
        SurfaceState(row.state or SurfaceState.NOT_TESTED.value).label,
        _number(row.rate_mm_h, Quantity.RATE, system) if is_open else "",
        _number(row.limit_mm_h, Quantity.RATE, system),
        "" if row.share_below is None or not is_open else round(row.share_below, 4),
        row.below_50_on.isoformat() if row.below_50_on else "",
    )


def _number(value: float | None, quantity: Quantity, system: UnitSystem) -> float | str:
    return "" if value is None else round(to_display(value, quantity, system).value, 4)
