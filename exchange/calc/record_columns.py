"""The columns of sheets of test rounds, tests and cleanings."""

from dataclasses import replace
from types import MappingProxyType

from core.calc.paving import CleaningMethod, TestMethod
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from exchange.calc.column_making import (
    HOURS,
    ID,
    LENGTH_SMALL,
    MASS,
    NOTE,
    PRESSURE,
    RATE,
    SECONDS,
    SHARE,
    SITE,
    SURFACE,
    UNITS_OF_ENTRIES,
    WARMTH,
    choice_column,
    day_column,
    number_column,
    text_column,
    yes_column,
)
from exchange.calc.columns import Cell, Column
from exchange.calc.french_words import CLEANED_ALSO, ENDED_ALSO, METHODS_ALSO
from maintenance.calc.vocabulary import Wetness
from qa.calc.field_tests import FIELD_TESTS, Entry, Measures
from qa.calc.ring import Ending, Seal
from qa.calc.rounds import Purpose

_METHOD_ALSO = MappingProxyType(
    {"ring": "ring", "single ring": "ring", "constant head": "ring", "astm c1781": "ring"}
)
_ENDED_ALSO = MappingProxyType(
    {
        "drained": "drained",
        "yes": "drained",
        "stopped": "still_ponded",
        "still wet": "still_ponded",
        "too fast": "too_fast",
    }
)
_CLEANED_ALSO = MappingProxyType(
    {
        "broom": "broom",
        "blower": "broom",
        "regenerative air": "regen_air",
        "sweeping": "regen_air",
        "vacuum": "vacuum",
        "wash": "wash_vacuum",
        "pressure wash": "wash_vacuum",
        "refill": "joint_refill",
        "re-jointing": "rejoint_resin",
        "milling": "mill",
        "lift and relay": "relay",
    }
)
_DONE_ON = ("date", "day", "on")
_WEATHER = (
    number_column(
        "hours_since_rain", gettext_noop("Hours since the last rain"), HOURS, "dry hours", "since rain"
    ),
    yes_column("standing_water", gettext_noop("Water stood on the surface"), "standing water"),
    number_column("air_temperature_c", gettext_noop("Air temperature"), WARMTH, "air temp"),
    number_column("surface_temperature_c", gettext_noop("Surface temperature"), WARMTH, "surface temp"),
)
_TESTED_ON = day_column(
    "tested_on", gettext_noop("Tested on"), *_DONE_ON, "test date", "date of test", required=True
)
_PURPOSE = choice_column("purpose", gettext_noop("Purpose"), Purpose, "reason")
ROUNDS = (ID, SITE, SURFACE, _TESTED_ON, _PURPOSE, *_WEATHER, NOTE)


def _entry_column(key: str, label: str, entry: Entry) -> Column:
    if entry.measures is Measures.YES:
        return yes_column(key, label)
    return number_column(key, label, UNITS_OF_ENTRIES[entry.measures])


def _entries_of_other_methods() -> tuple[Column, ...]:
    """What is read by the methods besides the ring, each entry once, however many methods have it."""
    found: dict[str, Column] = {}
    for test in FIELD_TESTS.values():
        for entry in test.fixed:
            if entry.measures is not Measures.LOOKED_UP and entry.key != "elapsed_s":
                found.setdefault(entry.key, _entry_column(entry.key, entry.label, entry))
        for number in range(1, test.runs_offered + 1):
            for entry in test.repeated:
                key = f"run{number}_{entry.key}"
                column = _entry_column(key, f"Run {number}: {entry.label}", entry)
                found.setdefault(key, replace(column, run=number, entry=entry.label))
    return tuple(found.values())


TESTS = (
    ID,
    text_column(
        "round",
        gettext_noop("Round"),
        "round id",
        hint=gettext_noop("The ID of a row among the test rounds; else site, surface and date lead to it."),
    ),
    SITE,
    SURFACE,
    _TESTED_ON,
    _PURPOSE,
    *_WEATHER,
    choice_column(
        "method",
        gettext_noop("Method"),
        TestMethod,
        "test method",
        also=_METHOD_ALSO | METHODS_ALSO,
    ),
    text_column(
        "location", gettext_noop("Location"), "spot", "label", "test location", "point", required=True
    ),
    choice_column(
        "unit_system",
        gettext_noop("Units of the readings"),
        UnitSystem,
        "units",
        also=MappingProxyType({"metric": "si", "imperial": "us"}),
    ),
    yes_column("rewetted", gettext_noop("Prewetted for this test"), "prewetted"),
    number_column("prewet_mass", gettext_noop("Prewet mass"), MASS, "prewet"),
    number_column("prewet_time_s", gettext_noop("Prewet time"), SECONDS),
    number_column("start_delay_s", gettext_noop("Start after prewetting"), SECONDS),
    number_column(
        "minutes_since_first", gettext_noop("Minutes since the first test at the spot"), ("min", "min")
    ),
    number_column(
        "test_mass",
        gettext_noop("Test mass"),
        MASS,
        "mass",
        "water",
        "mass of water",
        "water mass",
        "infiltrated water",
    ),
    number_column(
        "ring_diameter",
        gettext_noop("Inside diameter of the ring"),
        LENGTH_SMALL,
        "diameter",
        "ring diameter",
        "ring",
    ),
    number_column("elapsed_s", gettext_noop("Elapsed time"), SECONDS, "time", "duration", "test time"),
    choice_column(
        "ended", gettext_noop("How it ended"), Ending, "ended", "result", also=_ENDED_ALSO | ENDED_ALSO
    ),
    choice_column("seal", gettext_noop("Sealed with"), Seal, "seal"),
    text_column("ring_position", gettext_noop("Position relative to the joints"), "ring position"),
    yes_column("leak_seen", gettext_noop("Water leaked past the seal"), "leak"),
    *_entries_of_other_methods(),
    number_column(
        "rate_mm_h",
        gettext_noop("Rate, to check"),
        RATE,
        "rate",
        "infiltration rate",
        "infiltration",
        "result rate",
    ),
    NOTE,
)
CLEANINGS = (
    ID,
    SITE,
    SURFACE,
    day_column("cleaned_on", gettext_noop("Cleaned on"), *_DONE_ON, "cleaning date", required=True),
    choice_column(
        "method",
        gettext_noop("Method"),
        CleaningMethod,
        "cleaning method",
        "type",
        required=True,
        also=_CLEANED_ALSO | CLEANED_ALSO,
    ),
    number_column("share_of_area", gettext_noop("Share of the area"), SHARE, "share"),
    choice_column("wetness", gettext_noop("Surface was"), Wetness, "wetness"),
    Column("passes", gettext_noop("Passes of the machine"), Cell.WHOLE, other_words=("passes",)),
    number_column("pressure_bar", gettext_noop("Pressure at the nozzle"), PRESSURE, "pressure"),
    number_column(
        "depth_out_mm", gettext_noop("Depth of joint material taken out"), LENGTH_SMALL, "depth out"
    ),
    number_column("material_out_kg", gettext_noop("Material taken out"), MASS, "material out", "removed"),
    number_column("material_in_kg", gettext_noop("Material put in"), MASS, "material in", "refilled"),
    text_column("material_in", gettext_noop("What was put in"), "joint material"),
    text_column("done_by", gettext_noop("Who did it"), "done by", "crew", "contractor"),
    text_column("equipment", gettext_noop("With what machine or tool"), "equipment", "machine"),
    text_column("disposal_ticket", gettext_noop("Disposal ticket"), "ticket"),
    text_column("disposal_place", gettext_noop("Where it was taken"), "disposal place", "tip"),
    Column("cost", gettext_noop("Cost"), Cell.MONEY, other_words=("price", "charged", "amount")),
    NOTE,
)
