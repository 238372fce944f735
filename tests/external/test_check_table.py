"""Values worked out or printed outside this project, each with its source and how it came to us.

Kinds: "looked up" was seen in a stored copy or excerpt of the source; "from memory" was not, and is to
be verified against the current edition; "derived" is arithmetic from the formula that is named.
"""

import ast
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi
from pathlib import Path

import pytest

from core.calc import units
from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from qa.calc import counts, decay, gradation, hydraulics, methods
from qa.calc.limits import PRESETS, is_below, limit_from_design_rain
from qa.calc.methods import FloodRun, MethodRate
from qa.calc.ring import (
    PROCEDURES,
    Ending,
    RingReading,
    evaluate_ring,
    required_test_mass,
    ring_rate,
    time_for_rate_s,
)
from qa.calc.rounds import Rate, round_statistics, spot_mean

SI, US = UnitSystem.SI, UnitSystem.US

RING = "ASTM C1701/C1701M and C1781/C1781M, I = K·M/(D²·t)"
SPOTS = "ASTM C1701/C1701M and C1781/C1781M, number of locations"
SIZING = "Smith 2006, permeable pavers manual, via the Ontario guide's sizing page"
SIZING_2021 = "Ontario guide, permeable pavement sizing, December 2021"
GRANULARS = "Ontario guide, table of OPSS granulars (Vukovic porosity, Hazen conductivity)"
M_43 = "AASHTO M 43 / ASTM D448, state highway table 703.01-1M"
BOOGAARD_2014 = "Boogaard et al. 2014, Water 6(7):2070-2083"
GERMAN = "German technical page on design rainfall for infiltrating pavements"
EB303 = "Leming, Malcom & Tennis 2007, Hydrologic Design of Pervious Concrete (EB303)"
BORGWARDT = "Borgwardt 2006: about 18 % of the new rate left after 10 years"
MASS_BALANCE = "mass balance"

LOOKED_UP, MEMORY, DERIVED = "looked up", "from memory", "derived"


@dataclass(frozen=True)
class Row:
    """One value to meet. rel and abs: tolerance; both 1e-9 relative where the value is exact."""

    name: str
    compute: Callable[[], float]
    expected: float
    source: str
    kind: str
    rel: float = 1e-9
    abs: float = 0.0


def ring_row(mass, diameter, elapsed, expected, rel, system=SI):
    name = f"ring {mass:g} {diameter:g} {elapsed:g} {system}"
    return Row(name, lambda: ring_rate(mass, diameter, elapsed, system), expected, RING, MEMORY, rel)


RING_ROWS = [
    ring_row(18.00, 300, 60.0, 15_278.89, 1e-6),
    ring_row(18.00, 300, 12.0, 76_394.43, 1e-6),
    ring_row(18.00, 300, 30.0, 30_557.77, 1e-6),
    ring_row(18.00, 300, 150.0, 6_111.55, 1e-6),
    ring_row(3.60, 300, 30.0, 6_111.55, 1e-6),
    ring_row(3.60, 300, 600.0, 305.58, 1e-5),
    ring_row(3.60, 305, 300.0, 591.28, 1e-5),
    ring_row(18.02, 298, 45.3, 20_532.27, 1e-6),
    ring_row(17.97, 304, 210.5, 4_234.11, 1e-6),
    ring_row(3.58, 302, 95.4, 1_885.97, 1e-5),
    ring_row(40, 12, 60, 587.361, 1e-6, US),
    ring_row(40, 12, 120, 293.681, 1e-5, US),
    ring_row(8, 12, 30, 234.944, 1e-5, US),
    ring_row(8, 12, 704.8, 10.000, 1e-4, US),
    ring_row(39.96, 11.9, 42.7, 838.422, 1e-6, US),
    ring_row(8.04, 12.1, 310.2, 22.460, 1e-4, US),
    Row(
        "printed SI constant",
        lambda: PROCEDURES[SI].constant,
        3600e6 * 4 / pi,
        "water of 1000 kg/m³",
        DERIVED,
        1e-6,
    ),
    Row(
        "40 lb, 12 in, 60 s in mm/h", lambda: ring_rate(40, 12, 60, US) * 25.4, 14_918.97, RING, MEMORY, 1e-6
    ),
    Row("mass at 29.9 s", lambda: required_test_mass(29.9, SI), 18.00, "NBR 16416:2015", LOOKED_UP),
    Row("mass at 30.0 s", lambda: required_test_mass(30.0, SI), 3.60, RING, MEMORY),
    Row("lower line", lambda: PROCEDURES[SI].head_low, 10, "student poster on ASTM C1701", LOOKED_UP),
    Row("upper line", lambda: PROCEDURES[SI].head_high, 15, "student poster on ASTM C1701", LOOKED_UP),
    Row(
        "mean of two repeats",
        lambda: spot_mean([Rate(15_278.89), Rate(13_889.90)]).rate_mm_h,
        14_584.39,
        RING,
        MEMORY,
        1e-6,
    ),
]


def time_row(rate, mass, diameter, system, expected):
    name = f"time for {rate:g} with {mass:g} {system}"
    return Row(name, lambda: time_for_rate_s(rate, mass, diameter, system), expected, RING, MEMORY, abs=0.06)


TIME_ROWS = [
    time_row(97.2, 3.6, 300, SI, 1886.3),
    time_row(97.2, 18, 300, SI, 9431.4),
    time_row(194.4, 3.6, 300, SI, 943.1),
    time_row(250, 3.6, 300, SI, 733.4),
    time_row(254, 18, 300, SI, 3609.2),
    time_row(2540, 18, 300, SI, 360.9),
    time_row(6.4, 8, 12, US, 1101.3),
    time_row(10, 40, 12, US, 3524.2),
    time_row(100, 8, 12, US, 70.5),
]


def spot_row(area, system, expected):
    return Row(
        f"spots on {area:g} {system}", lambda: counts.locations_needed(area, system), expected, SPOTS, MEMORY
    )


SPOT_ROWS = [
    *(spot_row(a, SI, n) for a, n in ((2500, 3), (2501, 4), (3500, 4), (3501, 5), (10_000, 11))),
    *(spot_row(a, US, n) for a, n in ((25_000, 3), (25_500, 4), (35_000, 4), (35_001, 5), (100_000, 11))),
    Row("2369.03 m² by the SI rule", lambda: counts.locations_needed(2369.03, SI), 3, SPOTS, MEMORY),
    Row(
        "2369.03 m² by the US rule",
        lambda: counts.locations_needed_m2(25_500 * 0.09290304, US),
        4,
        SPOTS,
        MEMORY,
    ),
]

THREE = [Rate(1200), Rate(400), Rate(90)]
SITE_ROWS = [
    Row(
        "site mean",
        lambda: round_statistics(THREE).mean.rate_mm_h,
        563.33,
        "ASTM C1701 (mean)",
        LOOKED_UP,
        1e-4,
    ),
    Row(
        "site median",
        lambda: round_statistics(THREE).median.rate_mm_h,
        400,
        "the middle one of three",
        DERIVED,
    ),
    Row(
        "site geometric mean",
        lambda: round_statistics(THREE).geometric_mean.rate_mm_h,
        350.88,
        "cube root of 1200·400·90",
        DERIVED,
        1e-4,
    ),
]

UNIT_ROWS = [
    Row("270 L/s/ha", lambda: units.l_s_ha_to_mm_h(270), 97.2, "Boogaard, Lucke & Beecham 2013", LOOKED_UP),
    Row("540 L/s/ha", lambda: units.l_s_ha_to_mm_h(540), 194, BOOGAARD_2014, LOOKED_UP, 0.005),
    Row("0.50 m/d", lambda: units.m_d_to_mm_h(0.50), 20.8, BOOGAARD_2014, LOOKED_UP, 0.002),
    Row("5.4e-5 m/s", lambda: units.m_s_to_mm_h(5.4e-5), 194.4, GERMAN, LOOKED_UP, 1e-6),
    Row("1e-3 m/s", lambda: units.m_s_to_mm_h(1e-3), 3600, "NBR 16416:2015", LOOKED_UP),
    Row("1e-3 m/s in L/min/m²", lambda: units.l_min_m2_to_mm_h(60), 3600, "NBR 16416:2015", LOOKED_UP),
    Row(
        "1.4e-3 m/s in in/h",
        lambda: units.to_display(units.m_s_to_mm_h(1.4e-3), units.Quantity.RATE, units.UnitSystem.US).value,
        200,
        "Smith, Earley & Lia 2012, ASTM STP 1551",
        LOOKED_UP,
        0.01,
    ),
    Row("2 gal/min/ft²", lambda: units.gal_min_ft2_to_l_min_m2(2), 81, "ACI 522R-06", LOOKED_UP, 0.01),
    Row(
        "2 gal/min/ft² in mm/h",
        lambda: units.l_min_m2_to_mm_h(units.gal_min_ft2_to_l_min_m2(2)),
        4889.5,
        "definition of the US gallon",
        DERIVED,
        1e-5,
    ),
    Row("18 gal/min/ft²", lambda: units.gal_min_ft2_to_l_min_m2(18), 730, "ACI 522R-06", LOOKED_UP, 0.01),
    Row("1000 in/h in cm/h", lambda: units.in_h_to_mm_h(1000) / 10, 2540, "FHWA-HIF-19-021", LOOKED_UP),
]

STONE = hydraulics.StorageLayer
IN, FT2, FT3 = 25.4, 0.09290304, 0.028316846592


def store(*layers):
    return hydraulics.storage_mm([STONE("layer", thickness, n) for thickness, n in layers])


STORAGE_ROWS = [
    Row(
        "10 in at 0.30",
        lambda: store((10 * IN, 0.30)) / IN,
        3.0,
        "state ready-mixed concrete association",
        LOOKED_UP,
    ),
    Row(
        "4 in concrete and 6 in stone", lambda: store((4 * IN, 0.15), (6 * IN, 0.40)) / IN, 3.0, EB303, MEMORY
    ),
    Row("100 mm concrete and 150 mm stone", lambda: store((100, 0.15), (150, 0.40)), 75, EB303, MEMORY),
    Row(
        "6 in at 0.25 and 6 in at 0.45",
        lambda: store((6 * IN, 0.25), (6 * IN, 0.45)) / IN,
        4.2,
        "textbook of green building engineering, ch. 10 (inputs)",
        LOOKED_UP,
    ),
    Row(
        "layered volume",
        lambda: (
            hydraulics.storage_volume_m3(
                [STONE("base", 8 * IN, 0.40), STONE("slab", 6 * IN, 0.15)], 1e4 * FT2
            )
            / FT3
        ),
        3416.67,
        "Noblesville (Indiana) standard, formula",
        LOOKED_UP,
        1e-5,
    ),
    Row(
        "volume",
        lambda: hydraulics.storage_volume_m3([STONE("base", 350, 0.40)], 500),
        70.0,
        "V = A·d·n",
        DERIVED,
    ),
]


def depth_row(name, expected, *inputs, factor=1.0):
    return Row(name, lambda: hydraulics.depth_for_rain_mm(*inputs) / factor, expected, SIZING, LOOKED_UP)


DEPTH_ROWS = [
    depth_row("depth", 225.0, 50, 1, 60, 10, 2, 0.4),
    depth_row("depth in inches", 11.25, 2.5 * IN, 1, 3 * IN, 0.5 * IN, 2, 0.4, factor=IN),
    depth_row("depth without run-on", 50.0, 0, 0, 50, 15, 2, 0.4),
    depth_row("depth with run-on of 2", 150.0, 25, 2, 25, 7.5, 2, 0.4),
    depth_row("depth where the soil takes all", 0.0, 0, 0, 10, 15, 2, 0.4),
    Row("deepest in 48 h", lambda: hydraulics.deepest_that_drains_mm(10, 48, 0.4), 1200, SIZING, DERIVED),
    Row("deepest in 72 h", lambda: hydraulics.deepest_that_drains_mm(10, 72, 0.4), 1800, SIZING, DERIVED),
    Row(
        "deepest, inches",
        lambda: hydraulics.deepest_that_drains_mm(0.5 * IN, 72, 0.4) / IN,
        90,
        SIZING,
        DERIVED,
    ),
    Row("below the drain", lambda: hydraulics.deepest_that_drains_mm(3, 48, 0.4), 360, SIZING, DERIVED),
    Row("storm of 4 h", lambda: hydraulics.depth_for_storm_mm(4, 15, 2, 5, 0.4), 400, SIZING_2021, DERIVED),
    Row("storm of 1 h", lambda: hydraulics.depth_for_storm_mm(1, 50, 1, 10, 0.4), 225, SIZING_2021, DERIVED),
    Row("footprint", lambda: hydraulics.footprint_m2(4, 15, 1500, 400, 5, 0.4), 500, MASS_BALANCE, DERIVED),
    Row("drain time of 300 mm", lambda: hydraulics.drain_time_h(300, 0.4, 10), 12, "t = d·n/f", DERIVED),
    Row("drain time of 450 mm", lambda: hydraulics.drain_time_h(450, 0.4, 3), 60, "t = d·n/f", DERIVED),
    Row(
        "drain time of 12 in",
        lambda: hydraulics.drain_time_h(12 * IN, 0.4, 0.5 * IN),
        9.6,
        "t = d·n/f",
        DERIVED,
    ),
    Row(
        "drain time of 18 in",
        lambda: hydraulics.drain_time_h(18 * IN, 0.4, 0.1 * IN),
        72,
        "t = d·n/f",
        DERIVED,
    ),
    Row(
        "slope, 6 in over 100 ft",
        lambda: hydraulics.slope_factor(152.4, 0.01, 30.48),
        0.25,
        f"{EB303}, 3.3.2",
        MEMORY,
    ),
    Row(
        "slope, 1 ft over 100 ft",
        lambda: hydraulics.slope_factor(304.8, 0.01, 30.48),
        0.50,
        "geometry",
        DERIVED,
    ),
    Row(
        "slope, 0.4 ft over 20 ft",
        lambda: hydraulics.slope_factor(121.92, 0.01, 6.096),
        0.75,
        "geometry",
        DERIVED,
    ),
    Row("void ratio of 0.40", lambda: hydraulics.void_ratio(0.40), 0.6667, "e = n/(1-n)", DERIVED, 1e-4),
    Row(
        "porosity of e 0.40",
        lambda: hydraulics.porosity_of_void_ratio(0.40),
        0.2857,
        "n = e/(1+e)",
        DERIVED,
        1e-4,
    ),
]

RAIN = "5-minute rain of 100 years at Windsor (highway drainage report, 2012)"
LIMIT_ROWS = [
    Row("new, run-on 1", lambda: limit_from_design_rain(212.4, 1, 0.1).when_new_mm_h, 4248, RAIN, LOOKED_UP),
    Row("new, no run-on", lambda: limit_from_design_rain(212.4, 0, 0.1).when_new_mm_h, 2124, RAIN, LOOKED_UP),
    Row(
        "New Jersey in mm/h",
        lambda: PRESETS["new_jersey"].acceptance_mm_h,
        162.56,
        "NJ BMP manual ch. 9.6",
        LOOKED_UP,
    ),
    Row(
        "Netherlands in mm/h",
        lambda: PRESETS["netherlands"].limit_mm_h,
        20.8,
        BOOGAARD_2014,
        LOOKED_UP,
        0.002,
    ),
]

POROSITIES = ((3, 0.40), (6, 0.34), (14, 0.27), (17, 0.27), (19, 0.26), (60, 0.26))
CONDUCTIVITIES = ((0.6, 1296), (0.7, 1764), (1.0, 3600), (1.2, 5184), (2.5, 22_500))
STONE_ROWS = [
    *(
        Row(
            f"porosity at Cu {cu}",
            lambda cu=cu: gradation.porosity_from_uniformity(cu),
            n,
            GRANULARS,
            LOOKED_UP,
            abs=0.006,
        )
        for cu, n in POROSITIES
    ),
    *(
        Row(
            f"conductivity at d10 {d}",
            lambda d=d: gradation.hazen_conductivity_mm_h(d),
            k,
            GRANULARS,
            LOOKED_UP,
        )
        for d, k in CONDUCTIVITIES
    ),
]


K10 = 0.171480  # 1/year: ln(1/0.18)/10, so that 18 % are left after 10 years


CLEANING = "Simpson, Winston & Tirpak 2021, J. Environ. Manage. 294:112990"
DECAY_ROWS = [
    Row("decline a year", lambda: decay.decay_constant_per_year(0.18, 10), K10, BORGWARDT, LOOKED_UP, 1e-4),
    Row("half-life", lambda: decay.half_life_years(K10), 4.0421, BORGWARDT, DERIVED, 1e-4),
    Row("rate after 5 years", lambda: decay.rate_after(5080, K10, 5), 2155.26, BORGWARDT, DERIVED, 1e-5),
    Row("rate after 10 years", lambda: decay.rate_after(5080, K10, 10), 914.40, BORGWARDT, DERIVED, 1e-5),
    Row("years to 254 mm/h", lambda: decay.years_until(5080, 254, K10), 17.470, BORGWARDT, DERIVED, 1e-3),
    Row("years to 250 mm/h", lambda: decay.years_until(2540, 250, K10), 13.520, BORGWARDT, DERIVED, 1e-3),
    Row("gain by removing joint fill", lambda: decay.gain_percent(5, 106), 2020, CLEANING, LOOKED_UP, 1e-3),
    Row("loss by sweeping in the wet", lambda: decay.gain_percent(19, 4), -78.9, CLEANING, LOOKED_UP, 1e-3),
]

LI_2013 = "Li, Kayhanian & Harvey 2013, J. Environ. Manage. 118:144-152"


def converted():
    return methods.to_ring_test(MethodRate(TestMethod.FALLING_HEAD, 20_000))


METHOD_ROWS = [
    Row("falling head as a ring, middle", lambda: converted().middle_mm_h, 5000, LI_2013, LOOKED_UP),
    Row("falling head as a ring, low", lambda: converted().low_mm_h, 2000, LI_2013, LOOKED_UP),
    Row("falling head as a ring, high", lambda: converted().high_mm_h, 10_000, LI_2013, LOOKED_UP),
    Row(
        "falling head",
        lambda: methods.falling_head_rate(1, 1, 100, 20, 300, 200).rate_mm_h,
        7298.37,
        "Darcy's law for a falling head",
        MEMORY,
        1e-5,
    ),
    Row(
        "flooding, saturated runs only",
        lambda: methods.flooding_rate([FloodRun(90, 60, 240), *[FloodRun(90, 60, 720)] * 3]).rate_mm_h,
        150,
        f"{BOOGAARD_2014}: saturated result, three runs or more",
        LOOKED_UP,
    ),
    Row(
        "flooding",
        lambda: methods.flooding_rate([FloodRun(90, 60, 720)] * 3).rate_mm_h,
        150,
        BOOGAARD_2014,
        DERIVED,
    ),
    Row(
        "20 mm in 95 s",
        lambda: methods.square_ring_rate(20, 95).rate_mm_h,
        757.89,
        "9th Int. Conf. on Concrete Block Paving 2009, after AS 4693.5-2004",
        LOOKED_UP,
        1e-5,
    ),
]

ROWS = [
    *RING_ROWS, *TIME_ROWS, *SPOT_ROWS, *SITE_ROWS, *UNIT_ROWS, *STORAGE_ROWS, *DEPTH_ROWS, *LIMIT_ROWS,
    *STONE_ROWS, *DECAY_ROWS, *METHOD_ROWS,
]  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.name} [{row.kind}]")
def test_a_value_from_outside_is_met(row):
    assert row.compute() == pytest.approx(row.expected, rel=row.rel if row.abs == 0 else 0, abs=row.abs)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.name} [{row.kind}]")
def test_a_value_three_percent_off_would_be_noticed(row):
    """A row whose tolerance swallows a fault checks nothing."""
    off = row.expected * 1.03 if row.expected else 0.03

    assert off != pytest.approx(row.expected, rel=row.rel if row.abs == 0 else 0, abs=row.abs)


COMPUTED_BY_US = {"units", "counts", "decay", "gradation", "hydraulics", "methods", "PROCEDURES", "PRESETS"}


def expected_values():
    """What each row of this file says is expected, as it is written: the fourth argument of a row, or its name."""
    for call in ast.walk(ast.parse(Path(__file__).read_text(encoding="utf-8"))):
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Row":
            named = {keyword.arg: keyword.value for keyword in call.keywords}
            yield named["expected"] if "expected" in named else call.args[2]


def test_no_row_expects_what_the_program_itself_works_out():
    """An expected value is typed in, or arithmetic on what is typed in: a function is never held to itself."""
    found = list(expected_values())
    names = {node.id for value in found for node in ast.walk(value) if isinstance(node, ast.Name)}
    calls = [value for value in found for node in ast.walk(value) if isinstance(node, ast.Call)]

    assert len(found) > 60
    assert calls == []
    assert names.isdisjoint(COMPUTED_BY_US)
    assert names <= {"expected", "pi", "n", "k", "K10"}


BY_THE_BOOK = RingReading(
    system=SI,
    prewet_mass=3.60,
    prewet_time_s=45.0,
    start_delay_s=60.0,
    test_mass=3.60,
    ring_diameter=300.0,
    elapsed_s=600.0,
)


@pytest.mark.parametrize(("delay", "flags"), [(120.0, []), (121.0, ["start_delay"])])
def test_a_test_must_start_within_two_minutes_of_prewetting(delay, flags):
    """Ready-mixed concrete producer's technical brief on ASTM C1701 (looked up)."""
    reading = replace(BY_THE_BOOK, start_delay_s=delay)

    assert [d.key for d in evaluate_ring(reading).deviations] == flags


def test_water_still_standing_after_half_an_hour_bounds_the_rate():
    """Derived from the ring formula: 3.60 kg in 300 mm, still ponded at 1886.3 s, is below 97.2 mm/h."""
    reading = replace(BY_THE_BOOK, elapsed_s=1886.3, ending=Ending.STILL_PONDED)

    result = evaluate_ring(reading)

    assert result.bound is Bound.BELOW
    assert result.rate_mm_h == pytest.approx(97.2, rel=1e-4)


@pytest.mark.parametrize(("rate_mm_h", "below"), [(249.9, True), (250.0, False)])
def test_cleaning_is_asked_below_250_mm_h(rate_mm_h, below):
    """Ontario LID guide, inspection and maintenance of permeable pavement: "< 250 mm/h" (looked up)."""
    assert is_below(rate_mm_h, PRESETS["ontario"].limit_mm_h) is below


@pytest.mark.parametrize(("rate_in_h", "below"), [(9.99, True), (10.0, False)])
def test_ten_inches_an_hour_must_be_reached_after_cleaning(rate_in_h, below):
    """Minnesota Stormwater Manual, operation and maintenance: "at least 10 in/h" (looked up)."""
    assert is_below(rate_in_h * 25.4, PRESETS["minnesota"].after_cleaning_mm_h) is below


@pytest.mark.parametrize(("rate_in_h", "accepted"), [(49.9, False), (50.0, True)])
def test_fifty_inches_an_hour_are_asked_of_a_new_surface(rate_in_h, accepted):
    """15A NCAC 02H .1055(6) (looked up)."""
    assert is_below(rate_in_h * 25.4, PRESETS["north_carolina"].acceptance_mm_h) is not accepted


GRADINGS = [
    ("8", {12.5: 100, 9.5: 92, 4.75: 20, 2.36: 4, 1.18: 2}, []),
    ("57", {37.5: 100, 25: 94, 12.5: 40, 4.75: 5, 2.36: 2}, [25]),
    ("89", {9.5: 90, 4.75: 55, 2.36: 5, 1.18: 10, 0.3: 5, 12.5: 100}, []),
]


@pytest.mark.parametrize(("size", "passing", "failing"), GRADINGS)
def test_gradings_pass_on_their_limits_and_fail_beyond(size, passing, failing):
    """AASHTO M 43 / ASTM D448, state highway table 703.01-1M (looked up)."""
    result = gradation.check_grading(passing, gradation.BANDS[size])

    assert [f.sieve_mm for f in result.failures] == failing
    assert result.passes == (not failing)
