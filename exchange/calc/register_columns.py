"""The columns of sheets of owners, sites, surfaces, build-ups and test locations."""

from collections.abc import Sequence
from types import MappingProxyType

from core.calc.paving import SurfaceType, Traffic
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from exchange.calc.column_making import (
    ANGLE,
    AREA,
    HOURS,
    ID,
    LENGTH,
    LENGTH_SMALL,
    NOTE,
    PERCENT,
    RATE,
    SHARE,
    SITE,
    STORE,
    SURFACE,
    choice_column,
    day_column,
    number_column,
    text_column,
    yes_column,
)
from exchange.calc.columns import Cell, Column
from exchange.calc.french_words import LAYERS_ALSO, TRAFFIC_ALSO, TYPES_ALSO, ZONES_ALSO
from qa.calc.buildups import LayerKind
from qa.calc.counts import Zone
from qa.calc.limits import PRESETS

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


def rule_names() -> Sequence[str]:
    """The published rules, as people read them."""
    return [_(name) for name in RULES.values()]


OWNERS = (
    ID,
    text_column("name", gettext_noop("Name"), "owner", "client", "customer", "owner name", required=True),
    text_column("address", gettext_noop("Address"), "postal address", "street"),
    text_column("email", gettext_noop("E-mail for reports"), "email", "e-mail", "mail"),
    text_column("phone", gettext_noop("Phone"), "telephone", "tel", "mobile"),
    Column(
        "below_price_m2_yr",
        gettext_noop("A year within the limit is worth, a square metre"),
        Cell.MONEY,
        hint=gettext_noop("Only where it differs from the firm's settings."),
    ),
    NOTE,
)
SITES = (
    ID,
    text_column("owner", gettext_noop("Owner"), "client", "customer", "owner name", required=True),
    text_column("name", gettext_noop("Name"), "site", "site name", "property", "project", required=True),
    text_column("address", gettext_noop("Address"), "site address", "street"),
    number_column("latitude_deg", gettext_noop("Latitude (degrees north)"), ANGLE, "latitude", "lat"),
    number_column(
        "longitude_deg", gettext_noop("Longitude (degrees east)"), ANGLE, "longitude", "lon", "lng", "long"
    ),
    text_column(
        "time_zone", gettext_noop("Time zone"), "timezone", "tz", hint=gettext_noop("Area and city.")
    ),
    Column(
        "frost_months",
        gettext_noop("Frost months"),
        Cell.MONTHS,
        hint=gettext_noop("Numbers or names, such as 12, 1, 2."),
    ),
    Column(
        "leaf_fall_months",
        gettext_noop("Leaf-fall months"),
        Cell.MONTHS,
        hint=gettext_noop("Numbers or names, such as Oct, Nov."),
    ),
    Column("works_from", gettext_noop("Work from"), Cell.CLOCK),
    Column("works_until", gettext_noop("Work until"), Cell.CLOCK),
    Column("closed_weekdays", gettext_noop("Closed weekdays"), Cell.WEEKDAYS),
    Column("notice_days", gettext_noop("Days of notice before work"), Cell.WHOLE, units=("days", "days")),
    Column("below_price_m2_yr", gettext_noop("A year within the limit is worth, a square metre"), Cell.MONEY),
    text_column("access_note", gettext_noop("How to get in"), "access", "gate code"),
)
SURFACES = (
    ID,
    text_column(
        "owner",
        gettext_noop("Owner"),
        "client",
        "customer",
        hint=gettext_noop("Only for a site that is not known yet: it is made with it."),
    ),
    SITE,
    text_column(
        "site_address",
        gettext_noop("Site address"),
        "address",
        "street",
        hint=gettext_noop("Only for a site that is not known yet."),
    ),
    text_column(
        "time_zone",
        gettext_noop("Time zone"),
        "timezone",
        "tz",
        hint=gettext_noop("Only for a site that is not known yet."),
    ),
    text_column("name", gettext_noop("Name"), "surface", "surface name", "area name", required=True),
    choice_column(
        "surface_type",
        gettext_noop("Type"),
        SurfaceType,
        "surface type",
        "pavement type",
        "paving",
        "material",
        required=True,
        also=_TYPES_ALSO | TYPES_ALSO,
    ),
    number_column("area_m2", gettext_noop("Area"), AREA, "size", "surface area", required=True),
    day_column(
        "opened_on",
        gettext_noop("Opened on"),
        "opened",
        "opening date",
        "installed",
        "installation date",
        "built",
        "completed",
        required=True,
    ),
    day_column("removed_on", gettext_noop("Removed on"), "removed"),
    choice_column(
        "traffic", gettext_noop("Traffic"), Traffic, "use", "load", also=_TRAFFIC_ALSO | TRAFFIC_ALSO
    ),
    number_column(
        "run_on_area_m2",
        gettext_noop("Area draining on to it"),
        AREA,
        "run-on area",
        "run on",
        "contributing area",
    ),
    text_column("run_on_from", gettext_noop("What drains onto it"), "run-on from"),
    yes_column("bare_soil", gettext_noop("Bare soil or planting drains onto it"), "bare soil", "planting"),
    yes_column("trees", gettext_noop("Trees stand over it"), "trees"),
    yes_column(
        "winter_grit", gettext_noop("Grit is spread on it in winter"), "winter grit", "grit", "winter sand"
    ),
    text_column(
        "rule",
        gettext_noop("Rule for the limit"),
        "rule",
        "limit rule",
        "standard",
        hint=gettext_noop("The name of a rule of the firm's own, or one of: {names}."),
        fills=rule_names,
    ),
    number_column(
        "design_intensity_mm_h",
        gettext_noop("Intensity of the design rain"),
        RATE,
        "design rain",
        "design intensity",
    ),
    number_column(
        "clogging_share", gettext_noop("Share of the new rate left when clogged"), SHARE, "clogging factor"
    ),
    number_column(
        "agreed_limit_mm_h",
        gettext_noop("Agreed limit"),
        RATE,
        "limit",
        "minimum rate",
        "cleaning limit",
        "threshold",
    ),
    text_column("agreed_source", gettext_noop("Where it is agreed"), "limit source"),
    number_column("acceptance_rate_mm_h", gettext_noop("Agreed acceptance rate"), RATE, "acceptance rate"),
    number_column("joint_width_mm", gettext_noop("Joint width"), LENGTH_SMALL, "joint"),
    number_column("overflow_diameter_mm", gettext_noop("Overflow pipe diameter"), LENGTH_SMALL),
    number_column(
        "overflow_invert_mm",
        gettext_noop("Overflow height above the subgrade"),
        LENGTH_SMALL,
        "overflow height",
        "invert",
    ),
    number_column(
        "soil_measured_mm_h",
        gettext_noop("Measured rate of the soil"),
        RATE,
        "soil rate",
        "measured soil rate",
    ),
    number_column("soil_safety_factor", gettext_noop("Safety factor on the soil"), ("", ""), "safety factor"),
    number_column("soil_rate_mm_h", gettext_noop("Design rate of the soil"), RATE, "design soil rate"),
    number_column("reuse_store_m3", gettext_noop("Reuse store"), STORE, "tank"),
    number_column(
        "drain_limit_h",
        gettext_noop("The stone must be empty within"),
        HOURS,
        "drain down time",
        "drawdown time",
    ),
    number_column("subgrade_slope_percent", gettext_noop("Fall of the subgrade"), PERCENT, "subgrade slope"),
    number_column("subgrade_fall_length_m", gettext_noop("Length along the fall"), LENGTH),
    number_column("foundation_distance_m", gettext_noop("Distance to the nearest foundation"), LENGTH),
    number_column("well_distance_m", gettext_noop("Distance to the nearest well"), LENGTH),
    number_column(
        "water_table_depth_m",
        gettext_noop("Subgrade down to high water or bedrock"),
        LENGTH,
        "water table depth",
    ),
    day_column("guarantee_from", gettext_noop("Guarantee from"), "warranty from"),
    Column(
        "guarantee_months",
        gettext_noop("Guarantee"),
        Cell.WHOLE,
        units=("months", "months"),
        other_words=("warranty",),
    ),
    NOTE,
)
LAYERS = (
    SITE,
    SURFACE,
    Column(
        "position",
        gettext_noop("Place from the top"),
        Cell.NUMBER,
        other_words=("position", "order", "layer number", "no"),
        hint=gettext_noop("Empty: in the order of the rows."),
    ),
    choice_column(
        "kind",
        gettext_noop("Layer"),
        LayerKind,
        "layer kind",
        "course",
        required=True,
        also=_LAYER_ALSO | LAYERS_ALSO,
    ),
    text_column("material", gettext_noop("Material"), "aggregate", "product"),
    number_column("thickness_mm", gettext_noop("Thickness"), LENGTH_SMALL, "depth"),
    number_column("stone_min_mm", gettext_noop("Smallest stone"), LENGTH_SMALL, "min stone", "d min"),
    number_column("stone_max_mm", gettext_noop("Largest stone"), LENGTH_SMALL, "max stone", "d max"),
    number_column(
        "porosity", gettext_noop("Porosity (share of voids)"), SHARE, "porosity", "voids", "void content"
    ),
)
LOCATIONS = (
    SITE,
    SURFACE,
    text_column("label", gettext_noop("Label"), "location", "spot", "test location", "point", required=True),
    choice_column("zone", gettext_noop("Zone"), Zone, also=_ZONE_ALSO | ZONES_ALSO),
    text_column("description", gettext_noop("How to find it"), "description", "where"),
    number_column("x_m", gettext_noop("x"), LENGTH, "easting"),
    number_column("y_m", gettext_noop("y"), LENGTH, "northing"),
)
