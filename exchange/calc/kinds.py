"""The kinds of sheet that can be taken in, and the columns each may have."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from accounts.calc.roles import Role
from core.calc.choices import TextChoice
from core.calc.paving import CleaningMethod, SurfaceType, TestMethod, Traffic
from core.calc.units import UnitSystem
from exchange.calc.columns import Cell, Column
from maintenance.calc.vocabulary import Wetness
from qa.calc.buildups import LayerKind
from qa.calc.counts import Zone
from qa.calc.field_tests import FIELD_TESTS, Entry, Measures
from qa.calc.limits import PRESETS
from qa.calc.ring import Ending, Seal
from qa.calc.rounds import Purpose

LENGTH_SMALL, LENGTH, AREA, RATE = ("mm", "in"), ("m", "ft"), ("m²", "ft²"), ("mm/h", "in/h")
MASS, WATER, STORE = ("kg", "lb"), ("L", "gal"), ("m³", "ft³")
SECONDS, HOURS, WARMTH, PRESSURE = ("s", "s"), ("h", "h"), ("°C", "°F"), ("bar", "psi")
SHARE, PERCENT, ANGLE, MONTHS, DAYS = (
    ("share", "share"),
    ("%", "%"),
    ("°", "°"),
    ("months",) * 2,
    ("days",) * 2,
)

_ENTRY_UNITS = {
    Measures.LENGTH: LENGTH_SMALL,
    Measures.AREA: AREA,
    Measures.VOLUME: WATER,
    Measures.TIME: SECONDS,
}


# Readings of tests are in the system that their row names, all else in that of the import.
UNITS_OF_READINGS = frozenset({MASS, *_ENTRY_UNITS.values()} - {SECONDS})


class SheetKind(TextChoice):
    """What each row of a sheet is."""

    OWNERS = "owners", "Owners"
    SITES = "sites", "Sites"
    SURFACES = "surfaces", "Surfaces"
    LAYERS = "layers", "Build-ups"
    LOCATIONS = "locations", "Test locations"
    ROUNDS = "rounds", "Test rounds"
    TESTS = "tests", "Tests"
    CLEANINGS = "cleanings", "Cleanings"


@dataclass(frozen=True, slots=True)
class KindOfSheet:
    """A kind of sheet: what a row is called, its columns, who may record such rows, what else a sheet may be called."""

    kind: SheetKind
    one: str
    columns: tuple[Column, ...]
    least_role: Role
    other_names: tuple[str, ...] = ()

    @property
    def by_key(self) -> Mapping[str, Column]:
        """Its columns by their keys."""
        return {column.key: column for column in self.columns}


def _text(
    key: str, label: str, *words: str, example: str = "", required: bool = False, hint: str = ""
) -> Column:
    return Column(key, label, required=required, other_words=words, example=example or None, hint=hint)


def _number(
    key: str,
    label: str,
    units: tuple[str, ...],
    *words: str,
    required: bool = False,
    example: float | None = None,
) -> Column:
    pair, stopped = (units[0], units[1]), key.endswith("elapsed_s")
    return Column(
        key, label, Cell.NUMBER, required, pair, other_words=words, example=example, may_be_over=stopped
    )


def _yes(key: str, label: str, *words: str) -> Column:
    return Column(key, label, Cell.YES, other_words=words)


def _day(key: str, label: str, *words: str, required: bool = False, example: str = "") -> Column:
    return Column(key, label, Cell.DAY, required, other_words=words, example=example or None)


# One row of choices: what is stored, its label, and other words for the value.
def _choice(
    key: str,
    label: str,
    choices: Iterable[tuple[object, str]],
    *words: str,
    required: bool = False,
    also: Mapping[str, str] | None = None,
    example: str = "",
) -> Column:
    labels = MappingProxyType({str(value): said for value, said in choices})
    return Column(
        key, label, Cell.CHOICE, required, ("", ""), labels, words, also or {}, example=example or None
    )


_ID = _text(
    "id",
    "ID",
    "key",
    "number",
    "no",
    "ref",
    "reference",
    hint="Your own number of the row, if you have one. Sent again, the row is known by it.",
)
_SITE = _text(
    "site",
    "Site",
    "property",
    "site name",
    "location name",
    "project",
    required=True,
    example="Mill Street 4",
)
_SURFACE = _text(
    "surface", "Surface", "surface name", "area name", "pavement", required=True, example="Car park"
)
_NOTE = _text("note", "Note", "notes", "remark", "remarks", "comment", "comments")
_DONE_ON = ("date", "day", "on")

_TYPES_ALSO = MappingProxyType(
    {
        "picp": "picp",
        "permeable pavers": "picp",
        "permeable block paving": "picp",
        "block paving": "picp",
        "concrete pavers": "picp",
        "clay pavers": "clay",
        "brick": "clay",
        "natural stone": "resin_joint",
        "resin bound": "resin_bound",
        "porous concrete": "pervious_concrete",
        "permeable concrete": "pervious_concrete",
        "permeable asphalt": "porous_asphalt",
        "open graded asphalt": "porous_asphalt",
        "grass concrete": "concrete_grid",
        "grass grid": "plastic_grid",
        "gravel": "gravel",
    }
)
_TRAFFIC_ALSO = MappingProxyType(
    {
        "foot": "0",
        "pedestrian": "0",
        "pedestrians": "0",
        "bicycles": "0",
        "none": "0",
        "car": "1",
        "light": "1",
        "trucks": "2",
        "lorries": "2",
        "heavy": "2",
    }
)
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
_ZONE_ALSO = MappingProxyType(
    {"edge": "edge", "run-on": "edge", "middle": "interior", "centre": "interior", "low point": "low"}
)
_LAYER_ALSO = MappingProxyType(
    {
        "pavers": "surface_course",
        "surface": "surface_course",
        "joints": "joint_fill",
        "joint material": "joint_fill",
        "laying course": "bedding",
        "bed": "bedding",
        "road base": "base",
        "sub-base": "subbase",
        "fabric": "geotextile",
        "membrane": "liner",
        "soil": "subgrade",
    }
)
RULES = MappingProxyType({key: preset.name for key, preset in PRESETS.items()})

_OWNERS = (
    _ID,
    _text(
        "name", "Name", "owner", "client", "customer", "owner name", required=True, example="Harbour Homes"
    ),
    _text("address", "Address", "postal address", "street", example="1 Quay Road"),
    _text("email", "E-mail for reports", "email", "e-mail", "mail"),
    _text("phone", "Phone", "telephone", "tel", "mobile"),
    Column(
        "below_price_m2_yr",
        "A year within the limit is worth, a square metre",
        Cell.MONEY,
        hint="Only where it differs from the firm's settings.",
    ),
    _NOTE,
)
_SITES = (
    _ID,
    _text("owner", "Owner", "client", "customer", "owner name", required=True, example="Harbour Homes"),
    _text("name", "Name", "site", "site name", "property", "project", required=True, example="Mill Street 4"),
    _text("address", "Address", "site address", "street", example="4 Mill Street"),
    _number("latitude_deg", "Latitude (degrees north)", ANGLE, "latitude", "lat"),
    _number("longitude_deg", "Longitude (degrees east)", ANGLE, "longitude", "lon", "lng", "long"),
    _text("time_zone", "Time zone", "timezone", "tz", example="Europe/Berlin", hint="Area and city."),
    Column("frost_months", "Frost months", Cell.MONTHS, hint="Numbers or names, such as 12, 1, 2."),
    Column("leaf_fall_months", "Leaf-fall months", Cell.MONTHS, hint="Numbers or names, such as Oct, Nov."),
    Column("works_from", "Work from", Cell.CLOCK),
    Column("works_until", "Work until", Cell.CLOCK),
    Column("closed_weekdays", "Closed weekdays", Cell.WEEKDAYS),
    Column("notice_days", "Days of notice before work", Cell.WHOLE, units=("days", "days")),
    Column("below_price_m2_yr", "A year within the limit is worth, a square metre", Cell.MONEY),
    _text("access_note", "How to get in", "access", "gate code"),
)
_SURFACES = (
    _ID,
    _text(
        "owner",
        "Owner",
        "client",
        "customer",
        hint="Only for a site that is not known yet: it is made with it.",
    ),
    _SITE,
    _text("site_address", "Site address", "address", "street", hint="Only for a site that is not known yet."),
    _text("time_zone", "Time zone", "timezone", "tz", hint="Only for a site that is not known yet."),
    _text("name", "Name", "surface", "surface name", "area name", required=True, example="Car park"),
    _choice(
        "surface_type",
        "Type",
        SurfaceType.choices(),
        "surface type",
        "pavement type",
        "paving",
        "material",
        required=True,
        also=_TYPES_ALSO,
        example=SurfaceType.PICP.label,
    ),
    _number("area_m2", "Area", AREA, "size", "surface area", required=True, example=850.0),
    _day(
        "opened_on",
        "Opened on",
        "opened",
        "opening date",
        "installed",
        "installation date",
        "built",
        "completed",
        required=True,
        example="2021-05-12",
    ),
    _day("removed_on", "Removed on", "removed"),
    _choice(
        "traffic", "Traffic", Traffic.choices(), "use", "load", also=_TRAFFIC_ALSO, example=Traffic.CARS.label
    ),
    _number("run_on_area_m2", "Area draining on to it", AREA, "run-on area", "run on", "contributing area"),
    _text("run_on_from", "What drains onto it", "run-on from"),
    _yes("bare_soil", "Bare soil or planting drains onto it", "bare soil", "planting"),
    _yes("trees", "Trees stand over it", "trees"),
    _yes("winter_grit", "Grit is spread on it in winter", "winter grit", "grit", "winter sand"),
    _text(
        "rule",
        "Rule for the limit",
        "rule",
        "limit rule",
        "standard",
        hint=f"The name of a rule of the firm's own, or one of: {'; '.join(RULES.values())}.",
    ),
    _number("design_intensity_mm_h", "Intensity of the design rain", RATE, "design rain", "design intensity"),
    _number("clogging_share", "Share of the new rate left when clogged", SHARE, "clogging factor"),
    _number(
        "agreed_limit_mm_h",
        "Agreed limit",
        RATE,
        "limit",
        "minimum rate",
        "cleaning limit",
        "threshold",
        example=250.0,
    ),
    _text("agreed_source", "Where it is agreed", "limit source", example="Contract of 2021"),
    _number("acceptance_rate_mm_h", "Agreed acceptance rate", RATE, "acceptance rate"),
    _number("joint_width_mm", "Joint width", LENGTH_SMALL, "joint"),
    _number("overflow_diameter_mm", "Overflow pipe diameter", LENGTH_SMALL),
    _number(
        "overflow_invert_mm", "Overflow height above the subgrade", LENGTH_SMALL, "overflow height", "invert"
    ),
    _number("soil_measured_mm_h", "Measured rate of the soil", RATE, "soil rate", "measured soil rate"),
    _number("soil_safety_factor", "Safety factor on the soil", ("", ""), "safety factor"),
    _number("soil_rate_mm_h", "Design rate of the soil", RATE, "design soil rate"),
    _number("reuse_store_m3", "Reuse store", STORE, "tank"),
    _number("drain_limit_h", "The stone must be empty within", HOURS, "drain down time", "drawdown time"),
    _number("subgrade_slope_percent", "Fall of the subgrade", PERCENT, "subgrade slope"),
    _number("subgrade_fall_length_m", "Length along the fall", LENGTH),
    _number("foundation_distance_m", "Distance to the nearest foundation", LENGTH),
    _number("well_distance_m", "Distance to the nearest well", LENGTH),
    _number("water_table_depth_m", "Subgrade down to high water or bedrock", LENGTH, "water table depth"),
    _day("guarantee_from", "Guarantee from", "warranty from"),
    Column(
        "guarantee_months", "Guarantee", Cell.WHOLE, units=("months", "months"), other_words=("warranty",)
    ),
    _NOTE,
)
_LAYERS = (
    _SITE,
    _SURFACE,
    Column(
        "position",
        "Place from the top",
        Cell.NUMBER,
        other_words=("position", "order", "layer number", "no"),
        hint="Empty: in the order of the rows.",
        example=1.0,
    ),
    _choice(
        "kind",
        "Layer",
        LayerKind.choices(),
        "layer kind",
        "course",
        required=True,
        also=_LAYER_ALSO,
        example=LayerKind.SURFACE_COURSE.label,
    ),
    _text("material", "Material", "aggregate", "product", example="Concrete pavers, 80 mm"),
    _number("thickness_mm", "Thickness", LENGTH_SMALL, "depth", example=80.0),
    _number("stone_min_mm", "Smallest stone", LENGTH_SMALL, "min stone", "d min"),
    _number("stone_max_mm", "Largest stone", LENGTH_SMALL, "max stone", "d max"),
    _number("porosity", "Porosity (share of voids)", SHARE, "porosity", "voids", "void content"),
)
_LOCATIONS = (
    _SITE,
    _SURFACE,
    _text("label", "Label", "location", "spot", "test location", "point", required=True, example="A1"),
    _choice("zone", "Zone", Zone.choices(), also=_ZONE_ALSO, example=Zone.EDGE.label),
    _text("description", "How to find it", "description", "where"),
    _number("x_m", "x", LENGTH, "easting"),
    _number("y_m", "y", LENGTH, "northing"),
)
_WEATHER = (
    _number("hours_since_rain", "Hours since the last rain", HOURS, "dry hours", "since rain"),
    _yes("standing_water", "Water stood on the surface", "standing water"),
    _number("air_temperature_c", "Air temperature", WARMTH, "air temp"),
    _number("surface_temperature_c", "Surface temperature", WARMTH, "surface temp"),
)
_TESTED_ON = _day(
    "tested_on", "Tested on", *_DONE_ON, "test date", "date of test", required=True, example="2024-06-03"
)
_PURPOSE = _choice("purpose", "Purpose", Purpose.choices(), "reason", example=Purpose.ROUTINE.label)
_ROUNDS = (_ID, _SITE, _SURFACE, _TESTED_ON, _PURPOSE, *_WEATHER, _NOTE)


def _entry_column(key: str, label: str, entry: Entry) -> Column:
    if entry.measures is Measures.YES:
        return _yes(key, label)
    return _number(key, label, _ENTRY_UNITS[entry.measures])


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
                found.setdefault(key, _entry_column(key, f"Run {number}: {entry.label}", entry))
    return tuple(found.values())


_TESTS = (
    _ID,
    _text(
        "round",
        "Round",
        "round id",
        hint="The ID of a row among the test rounds; else site, surface and date lead to it.",
    ),
    _SITE,
    _SURFACE,
    _TESTED_ON,
    _PURPOSE,
    *_WEATHER,
    _choice(
        "method",
        "Method",
        TestMethod.choices(),
        "test method",
        also=_METHOD_ALSO,
        example=TestMethod.RING.label,
    ),
    _text("location", "Location", "spot", "label", "test location", "point", required=True, example="A1"),
    _choice(
        "unit_system",
        "Units of the readings",
        UnitSystem.choices(),
        "units",
        also=MappingProxyType({"metric": "si", "imperial": "us"}),
    ),
    _yes("rewetted", "Prewetted for this test", "prewetted"),
    _number("prewet_mass", "Prewet mass", MASS, "prewet"),
    _number("prewet_time_s", "Prewet time", SECONDS, example=40.0),
    _number("start_delay_s", "Start after prewetting", SECONDS),
    _number("minutes_since_first", "Minutes since the first test at the spot", ("min", "min")),
    _number(
        "test_mass",
        "Test mass",
        MASS,
        "mass",
        "water",
        "mass of water",
        "water mass",
        "infiltrated water",
        example=18.0,
    ),
    _number(
        "ring_diameter",
        "Inside diameter of the ring",
        LENGTH_SMALL,
        "diameter",
        "ring diameter",
        "ring",
        example=300.0,
    ),
    _number("elapsed_s", "Elapsed time", SECONDS, "time", "duration", "test time", example=320.0),
    _choice("ended", "How it ended", Ending.choices(), "ended", "result", also=_ENDED_ALSO),
    _choice("seal", "Sealed with", Seal.choices(), "seal"),
    _text("ring_position", "Position relative to the joints", "ring position"),
    _yes("leak_seen", "Water leaked past the seal", "leak"),
    *_entries_of_other_methods(),
    _number("rate_mm_h", "Rate, to check", RATE, "rate", "infiltration rate", "infiltration", "result rate"),
    _NOTE,
)
_CLEANINGS = (
    _ID,
    _SITE,
    _SURFACE,
    _day("cleaned_on", "Cleaned on", *_DONE_ON, "cleaning date", required=True, example="2024-04-11"),
    _choice(
        "method",
        "Method",
        CleaningMethod.choices(),
        "cleaning method",
        "type",
        required=True,
        also=_CLEANED_ALSO,
        example=CleaningMethod.REGEN_AIR.label,
    ),
    _number("share_of_area", "Share of the area", SHARE, "share", example=1.0),
    _choice("wetness", "Surface was", Wetness.choices(), "wetness"),
    Column("passes", "Passes of the machine", Cell.WHOLE, other_words=("passes",)),
    _number("pressure_bar", "Pressure at the nozzle", PRESSURE, "pressure"),
    _number("depth_out_mm", "Depth of joint material taken out", LENGTH_SMALL, "depth out"),
    _number("material_out_kg", "Material taken out", MASS, "material out", "removed"),
    _number("material_in_kg", "Material put in", MASS, "material in", "refilled"),
    _text("material_in", "What was put in", "joint material"),
    _text("done_by", "Who did it", "done by", "crew", "contractor"),
    _text("equipment", "With what machine or tool", "equipment", "machine"),
    _text("disposal_ticket", "Disposal ticket", "ticket"),
    _text("disposal_place", "Where it was taken", "disposal place", "tip"),
    Column("cost", "Cost", Cell.MONEY, other_words=("price", "charged", "amount"), example=420.0),
    _NOTE,
)

_PLAN, _RECORD = Role.COORDINATOR, Role.TECHNICIAN
KINDS = MappingProxyType(
    {
        each.kind: each
        for each in (
            KindOfSheet(SheetKind.OWNERS, "owner", _OWNERS, _PLAN, ("clients", "customers")),
            KindOfSheet(SheetKind.SITES, "site", _SITES, _PLAN, ("properties", "projects")),
            KindOfSheet(SheetKind.SURFACES, "surface", _SURFACES, _PLAN, ("areas", "pavements", "register")),
            KindOfSheet(
                SheetKind.LAYERS, "layer", _LAYERS, _PLAN, ("layers", "build-up", "buildups", "construction")
            ),
            KindOfSheet(
                SheetKind.LOCATIONS, "test location", _LOCATIONS, _PLAN, ("locations", "spots", "points")
            ),
            KindOfSheet(SheetKind.ROUNDS, "test round", _ROUNDS, _RECORD, ("rounds",)),
            KindOfSheet(
                SheetKind.TESTS, "test", _TESTS, _RECORD, ("infiltration", "infiltration tests", "results")
            ),
            KindOfSheet(SheetKind.CLEANINGS, "cleaning", _CLEANINGS, _RECORD, ("cleaning", "maintenance")),
        )
    }
)
