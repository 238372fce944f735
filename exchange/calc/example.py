"""Invented rows that show how sheets are filled in, and what the columns may hold, for a workbook to start from."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from core.calc.paving import CleaningMethod, SurfaceType, TestMethod, Traffic
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from exchange.calc.columns import Cell, Column
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import UNITS, converted
from qa.calc.buildups import LayerKind
from qa.calc.counts import Zone
from qa.calc.rounds import Purpose

Row = Mapping[str, str | float]  # texts in English, choices as they are stored
_CAR_PARK = {"site": gettext_noop("Mill Street 4"), "surface": gettext_noop("Car park")}
_SCHOOL = {"site": gettext_noop("Linden School"), "surface": gettext_noop("Playground")}

EXAMPLES: Mapping[SheetKind, tuple[Row, ...]] = MappingProxyType(
    {
        SheetKind.OWNERS: (
            {
                "id": "O-1",
                "name": gettext_noop("Harbour Homes"),
                "address": gettext_noop("1 Quay Road"),
                "email": "homes@example.org",
            },
            {
                "id": "O-2",
                "name": gettext_noop("Linden School Trust"),
                "address": gettext_noop("9 Linden Lane"),
            },
        ),
        SheetKind.SITES: (
            {
                "owner": gettext_noop("Harbour Homes"),
                "name": gettext_noop("Mill Street 4"),
                "address": gettext_noop("4 Mill Street"),
                "time_zone": "UTC",
                "frost_months": "12, 1, 2",
                "leaf_fall_months": gettext_noop("Oct, Nov"),
            },
            {
                "owner": gettext_noop("Linden School Trust"),
                "name": gettext_noop("Linden School"),
                "address": gettext_noop("9 Linden Lane"),
                "time_zone": "UTC",
            },
        ),
        SheetKind.SURFACES: (
            {
                "site": gettext_noop("Mill Street 4"),
                "name": gettext_noop("Car park"),
                "surface_type": SurfaceType.PICP,
                "area_m2": 850.0,
                "opened_on": "2021-05-12",
                "traffic": Traffic.CARS,
                "run_on_area_m2": 120.0,
                "trees": gettext_noop("yes"),
                "agreed_limit_mm_h": 250.0,
                "agreed_source": gettext_noop("Contract of 2021"),
                "joint_width_mm": 8.0,
            },
            {
                "site": gettext_noop("Linden School"),
                "name": gettext_noop("Playground"),
                "surface_type": SurfaceType.POROUS_ASPHALT,
                "area_m2": 640.0,
                "opened_on": "2019-09-02",
                "traffic": Traffic.FOOT,
                "agreed_limit_mm_h": 300.0,
                "agreed_source": gettext_noop("Handover letter"),
            },
        ),
        SheetKind.LAYERS: (
            {
                **_CAR_PARK,
                "position": 1.0,
                "kind": LayerKind.SURFACE_COURSE,
                "material": gettext_noop("Concrete pavers"),
                "thickness_mm": 80.0,
            },
            {
                **_CAR_PARK,
                "position": 2.0,
                "kind": LayerKind.BEDDING,
                "material": gettext_noop("Chippings"),
                "thickness_mm": 50.0,
                "stone_min_mm": 2.0,
                "stone_max_mm": 8.0,
                "porosity": 0.35,
            },
            {
                **_CAR_PARK,
                "position": 3.0,
                "kind": LayerKind.SUBBASE,
                "thickness_mm": 300.0,
                "stone_min_mm": 4.0,
                "stone_max_mm": 40.0,
                "porosity": 0.4,
            },
            {**_CAR_PARK, "position": 4.0, "kind": LayerKind.SUBGRADE},
        ),
        SheetKind.LOCATIONS: (
            {**_CAR_PARK, "label": "A1", "zone": Zone.EDGE, "description": gettext_noop("By the gate")},
            {**_CAR_PARK, "label": "B1", "zone": Zone.INTERIOR},
            {**_SCHOOL, "label": "P1", "zone": Zone.LOW},
        ),
        SheetKind.ROUNDS: (
            {**_CAR_PARK, "tested_on": "2024-06-03", "purpose": Purpose.ROUTINE, "hours_since_rain": 72.0},
            {**_SCHOOL, "tested_on": "2024-06-04", "purpose": Purpose.ROUTINE, "hours_since_rain": 96.0},
        ),
        SheetKind.TESTS: (
            {
                **_CAR_PARK,
                "tested_on": "2024-06-03",
                "method": TestMethod.RING,
                "location": "A1",
                "prewet_mass": 3.6,
                "prewet_time_s": 60.0,
                "start_delay_s": 60.0,
                "test_mass": 3.6,
                "ring_diameter": 300.0,
                "elapsed_s": 310.0,
            },
            {
                **_CAR_PARK,
                "tested_on": "2024-06-03",
                "method": TestMethod.RING,
                "location": "B1",
                "prewet_mass": 3.6,
                "prewet_time_s": 25.0,
                "start_delay_s": 60.0,
                "test_mass": 18.0,
                "ring_diameter": 300.0,
                "elapsed_s": 260.0,
            },
            {
                **_SCHOOL,
                "tested_on": "2024-06-04",
                "method": TestMethod.RING,
                "location": "P1",
                "prewet_mass": 3.6,
                "prewet_time_s": 240.0,
                "start_delay_s": 60.0,
                "test_mass": 3.6,
                "ring_diameter": 300.0,
                "elapsed_s": "> 1800",
            },
        ),
        SheetKind.CLEANINGS: (
            {
                **_CAR_PARK,
                "cleaned_on": "2024-04-11",
                "method": CleaningMethod.REGEN_AIR,
                "share_of_area": 1.0,
                "cost": 420.0,
            },
        ),
    }
)


def example_rows(kind: SheetKind, system: UnitSystem) -> Iterator[list[str | float | None]]:
    """The invented rows of a kind, in the order of its columns, in the units of a system."""
    for row in EXAMPLES[kind]:
        yield [_shown(row.get(column.key), column, system) for column in KINDS[kind].columns]


def _shown(value: Any, column: Column, system: UnitSystem) -> str | float | None:
    """A value in the units of a system, a text in the reader's language."""
    if column.choices and value is not None:
        return column.choices_said[str(getattr(value, "value", value))]
    if isinstance(value, str):
        return _(value)
    return _in_units(value, column, system)


def _in_units(value: float | None, column: Column, system: UnitSystem) -> float | None:
    if not isinstance(value, float) or system is UnitSystem.SI or not column.units[0]:
        return value
    there, here = UNITS[column.units[0]], UNITS[column.units[1]]
    return float(f"{converted(value, there, here):.4g}")


def header(column: Column, system: UnitSystem) -> str:
    """What a column is called in a sheet: its label, with its unit in brackets where it has one."""
    unit = _unit(column, system)
    return f"{column.said} [{unit}]" if unit else column.said


def _unit(column: Column, system: UnitSystem) -> str:
    """The unit as a sheet says it; a share says none."""
    unit = column.unit_in(system)
    return UNITS[unit].said if unit and unit != "share" else ""


_MAY_HOLD: Mapping[Cell, str] = MappingProxyType(
    {
        Cell.TEXT: gettext_noop("Text"),
        Cell.NUMBER: gettext_noop("A number"),
        Cell.WHOLE: gettext_noop("A whole number"),
        Cell.MONEY: gettext_noop("A sum in the firm's currency"),
        Cell.DAY: gettext_noop("A date"),
        Cell.CLOCK: gettext_noop("A time of day, such as 07:30"),
        Cell.YES: gettext_noop("yes or no"),
        Cell.MONTHS: gettext_noop("Months by number or name"),
        Cell.WEEKDAYS: gettext_noop("Weekdays by name"),
    }
)


def may_hold(column: Column) -> str:
    """What a column may hold, in words."""
    if column.choices:
        return _("One of: {choices}").format(choices="; ".join(column.choices_said.values()))
    if column.cell is Cell.NUMBER and "share" in column.units:
        return _("A share, such as 0.4, or 40 %")
    return _(_MAY_HOLD[column.cell])


def column_lines(system: UnitSystem) -> Iterator[list[str]]:
    """Sheet, column, whether it is needed, unit, what it may hold and what else is to be said, column by column."""
    for what in KINDS.values():
        for column in what.columns:
            needed = _("needed") if column.required else ""
            yield [
                what.kind.label,
                header(column, system),
                needed,
                _unit(column, system),
                may_hold(column),
                column.hint_said,
            ]
