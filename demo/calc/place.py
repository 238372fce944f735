"""The invented place: owners, sites and surfaces of Ossenfell, a town that does not exist."""

from dataclasses import dataclass, field
from typing import Any

from accounts.calc.roles import Role
from core.calc.paving import SurfaceType, Traffic
from qa.calc.buildups import LayerKind

FIRM = "Ossenfell Paving (invented)"
TIME_ZONE = "UTC"
PASSWORD = "soak-away-2026"
PEOPLE = (
    ("admin@ossenfell.example", "Demo admin", Role.ADMIN),
    ("office@ossenfell.example", "Demo coordinator", Role.COORDINATOR),
    ("field@ossenfell.example", "Demo technician", Role.TECHNICIAN),
    ("reader@ossenfell.example", "Demo viewer", Role.VIEWER),
)
CREWS = (
    ("Crew north", "Works yard at Weir Road", (0.455, 0.231)),
    ("Crew south", "Depot at Tollgate", (0.371, 0.204)),
)
OWNER_PERSON = ("owner@ossenfell.example", "Demo owner's manager")

# The firm's own rule: name, limit and acceptance rate (mm/h), source.
OWN_LIMIT = ("School courts", 300.0, 2500.0, "Invented frame contract with the schools, clause 4.2")

# Sieve analyses of one surface's stone: layer, size asked for, percent passing by sieve (mm), wash loss (%).
SIEVED = ("Tollgate Green", "Home zone")
SIEVINGS: tuple[tuple[LayerKind, str, dict[float, float], float], ...] = (
    (LayerKind.BEDDING, "8", {12.5: 100, 9.5: 92, 4.75: 20, 2.36: 4, 1.18: 2}, 0.4),
    (LayerKind.BASE, "57", {37.5: 100, 25: 94, 12.5: 40, 4.75: 5, 2.36: 2}, 0.3),
    (LayerKind.SUBBASE, "2", {75: 100, 63: 95, 50: 50, 37.5: 8, 19: 3}, 0.7),
)

# What is known of the ground and the water below some surfaces; the rest shows what an incomplete record says.
WATER: dict[str, dict[str, Any]] = {
    "Home zone": {
        "subgrade_slope_percent": 0.5,
        "subgrade_fall_length_m": 20.0,
        "foundation_distance_m": 2.5,
        "well_distance_m": 60.0,
        "water_table_depth_m": 1.4,
        "overflow_invert_mm": 150.0,
        "overflow_diameter_mm": 110.0,
        "reuse_store_m3": 12.0,
    },
    "Front yard": {
        "subgrade_slope_percent": 0.0,
        "foundation_distance_m": 6.0,
        "well_distance_m": 400.0,
        "water_table_depth_m": 2.0,
    },
}

# Which rules the surfaces are held to: the limit they come to (mm/h), and the fields of the surface.
LIMITS: dict[str, tuple[float, dict[str, Any]]] = {
    "trigger": (250.0, {"limit_preset": "ontario"}),
    "mn": (254.0, {"limit_preset": "minnesota"}),
    "design": (97.2, {"limit_preset": "european_minimum"}),
    "rain": (360.0, {"limit_preset": "ontario", "design_intensity_mm_h": 180.0}),
    "own": (300.0, {}),
    "agreed": (
        360.0,
        {"agreed_limit_mm_h": 360.0, "agreed_source": "Maintenance agreement with the owner (invented)"},
    ),
}


@dataclass(frozen=True, slots=True)
class DemoSurface:
    """stress: how fast it really declines against its kind; routine: sweepings a year."""

    name: str
    kind: SurfaceType
    area_m2: float
    age_yr: float
    limit: str = "trigger"
    run_on: float = 0.0
    soil: bool = False
    trees: bool = False
    grit: bool = False
    traffic: Traffic = Traffic.CARS
    stress: float = 1.0
    routine: float = 0.0
    tested: bool = True


@dataclass(frozen=True, slots=True)
class DemoSite:
    name: str
    owner: str
    address: str
    position: tuple[float, float]
    surfaces: tuple[DemoSurface, ...] = field(default=())
    tests_per_year: float = 1.0
    cleanings_per_year: float = 0.0


S = DemoSurface
COUNCIL, SCHOOLS, HOUSING = "Ossenfell Town Council", "Ossenfell Schools Trust", "Harrowmere Housing"
TRADE, CLINIC = "Fennick Yard Estates", "Wether Lane Clinic"

SITES = (
    DemoSite(
        "Lower Quay School",
        SCHOOLS,
        "1 Lower Quay, Ossenfell",
        (0.412, 0.218),
        (
            S("Front yard", SurfaceType.PICP, 1840, 5.4, run_on=0.35, trees=True),
            S("Staff car park", SurfaceType.PICP, 960, 5.4, run_on=0.8, soil=True, trees=True, stress=2.6),
            S("Outdoor classroom", SurfaceType.RESIN_BOUND, 240, 4.1, traffic=Traffic.FOOT, trees=True),
            S("Garden path", SurfaceType.GRAVEL, 180, 5.2, traffic=Traffic.FOOT, limit="design"),
        ),
    ),
    DemoSite(
        "Millrace School",
        SCHOOLS,
        "14 Millrace Row, Ossenfell",
        (0.418, 0.225),
        (
            S(
                "Drop-off lane",
                SurfaceType.POROUS_ASPHALT,
                1320,
                9.2,
                grit=True,
                run_on=0.2,
                traffic=Traffic.HEAVY,
                stress=1.7,
            ),
            S(
                "Ball court",
                SurfaceType.PERVIOUS_CONCRETE,
                820,
                6.1,
                traffic=Traffic.FOOT,
                run_on=0.1,
                limit="own",
            ),
            S("Bicycle shelter", SurfaceType.CLAY, 150, 4.4, traffic=Traffic.FOOT, trees=True),
        ),
    ),
    DemoSite(
        "Market Square",
        COUNCIL,
        "Market Square, Ossenfell",
        (0.409, 0.210),
        (
            S(
                "Square, north half",
                SurfaceType.RESIN_JOINT,
                1450,
                7.3,
                traffic=Traffic.CARS,
                limit="mn",
                grit=True,
            ),
            S(
                "Square, south half",
                SurfaceType.RESIN_JOINT,
                1380,
                7.3,
                traffic=Traffic.CARS,
                limit="mn",
                grit=True,
                stress=1.6,
            ),
            S("Stalls row", SurfaceType.CLAY, 620, 6.5, run_on=0.5, routine=1),
            S(
                "Bus stop",
                SurfaceType.PICP,
                340,
                5.9,
                traffic=Traffic.HEAVY,
                run_on=1.0,
                stress=2.4,
                limit="rain",
            ),
        ),
        tests_per_year=1.0,
        cleanings_per_year=1.0,
    ),
    DemoSite(
        "Harbour Steps",
        COUNCIL,
        "Old Tannery Court, Ossenfell",
        (0.401, 0.231),
        (
            S("Upper landing", SurfaceType.RESIN_JOINT, 410, 4.8, traffic=Traffic.FOOT, limit="design"),
            S(
                "Lower landing",
                SurfaceType.RESIN_JOINT,
                380,
                4.8,
                traffic=Traffic.FOOT,
                limit="mn",
                run_on=0.6,
                soil=True,
                stress=2.2,
            ),
            S("Ramp", SurfaceType.RESIN_BOUND, 210, 4.8, traffic=Traffic.FOOT),
        ),
    ),
    DemoSite(
        "Weir Park",
        COUNCIL,
        "Weir Lane, Ossenfell",
        (0.395, 0.242),
        (
            S("Visitor car park", SurfaceType.CONCRETE_GRID, 2260, 8.4, limit="design", trees=True),
            S("Overflow parking", SurfaceType.PLASTIC_GRID, 1720, 3.6, limit="design"),
            S(
                "River walk",
                SurfaceType.RESIN_BOUND,
                930,
                3.2,
                traffic=Traffic.FOOT,
                trees=True,
                soil=True,
                stress=1.8,
            ),
            S("Play area edge", SurfaceType.GRAVEL, 260, 5.0, traffic=Traffic.FOOT, limit="design"),
        ),
        tests_per_year=0.5,
    ),
    DemoSite(
        "Library Court",
        COUNCIL,
        "3 Copper Street, Ossenfell",
        (0.411, 0.204),
        (
            S("Court", SurfaceType.CLAY, 740, 10.3, trees=True, routine=1, stress=1.4),
            S("Delivery bay", SurfaceType.PICP, 280, 10.3, traffic=Traffic.HEAVY, run_on=0.4, stress=1.9),
        ),
    ),
    DemoSite(
        "Alder Rise",
        HOUSING,
        "Alder Rise 1 to 40, Ossenfell",
        (0.428, 0.216),
        (
            S("Access road", SurfaceType.PICP, 3240, 5.1, run_on=0.6, traffic=Traffic.CARS),
            S("Parking, east", SurfaceType.PICP, 880, 5.1, run_on=0.3),
            S("Parking, west", SurfaceType.PICP, 910, 5.1, run_on=0.3, soil=True, stress=2.8),
            S("Courtyard", SurfaceType.CLAY, 520, 5.1, traffic=Traffic.FOOT, trees=True),
        ),
    ),
    DemoSite(
        "Sallow Court",
        HOUSING,
        "Sallow Court, Ossenfell",
        (0.431, 0.209),
        (
            S("Court", SurfaceType.RESIN_BOUND, 680, 2.4, traffic=Traffic.CARS),
            S("Bin store apron", SurfaceType.PERVIOUS_CONCRETE, 120, 2.4, run_on=1.2, stress=1.6),
            S("Fire path", SurfaceType.PLASTIC_GRID, 640, 2.4, limit="design"),
        ),
    ),
    DemoSite(
        "Fennick Yard",
        TRADE,
        "Fennick Yard, Ossenfell",
        (0.437, 0.228),
        (
            S(
                "Lorry park",
                SurfaceType.POROUS_ASPHALT,
                4180,
                6.6,
                traffic=Traffic.HEAVY,
                grit=True,
                run_on=0.1,
            ),
            S(
                "Loading apron",
                SurfaceType.PERVIOUS_CONCRETE,
                1260,
                6.6,
                traffic=Traffic.HEAVY,
                soil=True,
                stress=2.1,
                limit="agreed",
            ),
            S("Office parking", SurfaceType.PICP, 760, 6.6, routine=2),
        ),
        cleanings_per_year=2.0,
    ),
    DemoSite(
        "Copper Street Depot",
        TRADE,
        "40 Copper Street, Ossenfell",
        (0.414, 0.199),
        (
            S(
                "Depot yard",
                SurfaceType.CONCRETE_GRID,
                1880,
                11.5,
                limit="design",
                traffic=Traffic.HEAVY,
                stress=1.5,
            ),
            S("Van parking", SurfaceType.POROUS_ASPHALT, 1140, 11.5, grit=True, stress=1.2),
        ),
        tests_per_year=0.5,
    ),
    DemoSite(
        "Wether Lane Clinic",
        CLINIC,
        "7 Wether Lane, Ossenfell",
        (0.422, 0.233),
        (
            S("Patients' parking", SurfaceType.PICP, 1120, 3.1, trees=True, routine=1),
            S("Entrance", SurfaceType.RESIN_JOINT, 190, 3.1, traffic=Traffic.FOOT, limit="mn"),
            S("Ambulance bay", SurfaceType.PERVIOUS_CONCRETE, 240, 3.1, traffic=Traffic.HEAVY),
            S(
                "Garden court",
                SurfaceType.GRAVEL,
                160,
                0.1,
                traffic=Traffic.FOOT,
                limit="design",
                tested=False,
            ),
        ),
    ),
    DemoSite(
        "Tollgate Green",
        HOUSING,
        "Tollgate Green, Ossenfell",
        (0.440, 0.214),
        (
            S("Home zone", SurfaceType.CLAY, 1640, 1.3, run_on=0.5),
            S("Parking pockets", SurfaceType.PLASTIC_GRID, 480, 1.3, limit="design"),
            S("Square", SurfaceType.RESIN_JOINT, 720, 0.2, limit="mn", tested=False),
        ),
    ),
)
