"""Invented rows that show how sheets are filled in, and what the columns may hold, for a workbook to start from."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from core.calc.units import UnitSystem
from exchange.calc.columns import Cell, Column
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.unit_words import UNITS, converted

Row = Mapping[str, str | float]
_CAR_PARK = {"site": "Mill Street 4", "surface": "Car park"}
_SCHOOL = {"site": "Linden School", "surface": "Playground"}

EXAMPLES: Mapping[SheetKind, tuple[Row, ...]] = MappingProxyType(
    {
        SheetKind.OWNERS: (
            {"id": "O-1", "name": "Harbour Homes", "address": "1 Quay Road", "email": "homes@example.org"},
            {"id": "O-2", "name": "Linden School Trust", "address": "9 Linden Lane"},
        ),
        SheetKind.SITES: (
            {
                "owner": "Harbour Homes",
                "name": "Mill Street 4",
                "address": "4 Mill Street",
                "time_zone": "UTC",
                "frost_months": "12, 1, 2",
                "leaf_fall_months": "Oct, Nov",
            },
            {
                "owner": "Linden School Trust",
                "name": "Linden School",
                "address": "9 Linden Lane",
                "time_zone": "UTC",
            },
        ),
        SheetKind.SURFACES: (
            {
                "site": "Mill Street 4",
                "name": "Car park",
                "surface_type": "Permeable interlocking concrete pavers",
                "area_m2": 850.0,
                "opened_on": "2021-05-12",
                "traffic": "Cars",
                "run_on_area_m2": 120.0,
                "trees": "yes",
                "agreed_limit_mm_h": 250.0,
                "agreed_source": "Contract of 2021",
                "joint_width_mm": 8.0,
            },
            {
                "site": "Linden School",
                "name": "Playground",
                "surface_type": "Porous asphalt",
                "area_m2": 640.0,
                "opened_on": "2019-09-02",
                "traffic": "Feet and bicycles",
                "agreed_limit_mm_h": 300.0,
                "agreed_source": "Handover letter",
            },
        ),
        SheetKind.LAYERS: (
            {
                **_CAR_PARK,
                "position": 1.0,
                "kind": "Surface course",
                "material": "Concrete pavers",
                "thickness_mm": 80.0,
            },
            {
                **_CAR_PARK,
                "position": 2.0,
                "kind": "Bedding",
                "material": "Chippings",
                "thickness_mm": 50.0,
                "stone_min_mm": 2.0,
                "stone_max_mm": 8.0,
                "porosity": 0.35,
            },
            {
                **_CAR_PARK,
                "position": 3.0,
                "kind": "Subbase",
                "thickness_mm": 300.0,
                "stone_min_mm": 4.0,
                "stone_max_mm": 40.0,
                "porosity": 0.4,
            },
            {**_CAR_PARK, "position": 4.0, "kind": "Subgrade"},
        ),
        SheetKind.LOCATIONS: (
            {**_CAR_PARK, "label": "A1", "zone": "Edge strip, next to run-on", "description": "By the gate"},
            {**_CAR_PARK, "label": "B1", "zone": "Interior"},
            {**_SCHOOL, "label": "P1", "zone": "Low spot"},
        ),
        SheetKind.ROUNDS: (
            {**_CAR_PARK, "tested_on": "2024-06-03", "purpose": "Routine", "hours_since_rain": 72.0},
            {**_SCHOOL, "tested_on": "2024-06-04", "purpose": "Routine", "hours_since_rain": 96.0},
        ),
        SheetKind.TESTS: (
            {
                **_CAR_PARK,
                "tested_on": "2024-06-03",
                "method": "Constant-head single ring",
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
                "method": "Constant-head single ring",
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
                "method": "Constant-head single ring",
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
                "method": "Regenerative-air sweeping",
                "share_of_area": 1.0,
                "cost": 420.0,
            },
        ),
    }
)


def example_rows(kind: SheetKind, system: UnitSystem) -> Iterator[list[str | float | None]]:
    """The invented rows of a kind, in the order of its columns, in the units of a system."""
    for row in EXAMPLES[kind]:
        yield [_in_units(row.get(column.key), column, system) for column in KINDS[kind].columns]


def _in_units(value: str | float | None, column: Column, system: UnitSystem) -> str | float | None:
    if not isinstance(value, float) or system is UnitSystem.SI or not column.units[0]:
        return value
    there, here = UNITS[column.units[0]], UNITS[column.units[1]]
    return float(f"{converted(value, there, here):.4g}")


def header(column: Column, system: UnitSystem) -> str:
    """What a column is called in a sheet: its label, with its unit in brackets where it has one."""
    unit = column.unit_in(system)
    return f"{column.label} [{unit}]" if unit and unit != "share" else column.label


def may_hold(column: Column) -> str:
    """What a column may hold, in words."""
    if column.choices:
        return "One of: " + "; ".join(column.choices.values())
    return {
        Cell.TEXT: "Text",
        Cell.NUMBER: "A number" if "share" not in column.units else "A share, such as 0.4, or 40 %",
        Cell.WHOLE: "A whole number",
        Cell.MONEY: "A sum in the firm's currency",
        Cell.DAY: "A date",
        Cell.CLOCK: "A time of day, such as 07:30",
        Cell.YES: "yes or no",
        Cell.MONTHS: "Months by number or name",
        Cell.WEEKDAYS: "Weekdays by name",
    }[column.cell]


def column_lines(system: UnitSystem) -> Iterator[list[str]]:
    """Sheet, column, whether it is needed, unit, what it may hold and what else is to be said, column by column."""
    for what in KINDS.values():
        for column in what.columns:
            needed = "needed" if column.required else ""
            yield [
                what.kind.label,
                header(column, system),
                needed,
                column.unit_in(system).replace("share", ""),
                may_hold(column),
                column.hint,
            ]
