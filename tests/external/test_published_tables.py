"""Tables of documents, typed in from them in their own layout and units, against what the program holds.

"Looked up" was seen in a stored copy or excerpt of the source; "from memory" was not, and is to be verified against
the current edition.
"""

import re
from fractions import Fraction

import pytest
from scipy import constants

from core.calc import units
from core.calc.paving import SurfaceType
from core.calc.units import Quantity, UnitSystem
from qa.calc import limits, rain, ring
from qa.calc.check_model import HeaviestUse
from qa.calc.check_units import in_units, quantity_of
from qa.calc.checks import checks_for
from qa.calc.checks_ground import overlap_needed
from qa.calc.counts import minimum_spacing_m
from qa.calc.gradation import BANDS
from qa.calc.sieves import SIEVE_NAMES

# AASHTO M 43 = ASTM D448 as a state highway specification prints it, table 703.01-1M (looked up): percent passing,
# a row for each sieve. Sizes 57 and 67 agree with Iowa DOT IM 209 App. D, 57 to 9 with a transcription of ASTM C33.
SIZES_OF_COARSE_AGGREGATE = """
sieve  2       3       4       5       57      67      78      8       89      9
75     100     .       .       .       .       .       .       .       .       .
63     90-100  100     .       .       .       .       .       .       .       .
50     35-70   90-100  100     .       .       .       .       .       .       .
37.5   0-15    35-70   90-100  100     100     .       .       .       .       .
25     .       0-15    20-55   90-100  95-100  100     .       .       .       .
19     0-5     .       0-15    20-55   .       90-100  100     .       .       .
12.5   .       0-5     .       0-10    25-60   .       90-100  100     100     .
9.5    .       .       0-5     0-5     .       20-55   40-75   85-100  90-100  100
4.75   .       .       .       .       0-10    0-10    5-25    10-30   20-55   85-100
2.36   .       .       .       .       0-5     0-5     0-10    0-10    5-30    10-40
1.18   .       .       .       .       .       .       0-5     0-5     0-10    0-10
0.3    .       .       .       .       .       .       .       .       0-5     0-5
"""


def bands_by_size(table):
    head, *rows = [line.split() for line in table.strip().splitlines()]
    for column, size in enumerate(head[1:], start=1):
        cells = {float(row[0]): row[column] for row in rows if row[column] != "."}
        yield (
            size,
            {sieve: (float(cell.split("-")[0]), float(cell.split("-")[-1])) for sieve, cell in cells.items()},
        )


@pytest.mark.parametrize(("size", "limits_percent"), list(bands_by_size(SIZES_OF_COARSE_AGGREGATE)))
def test_grading_bands_are_those_of_the_table(size, limits_percent):
    assert dict(BANDS[size].limits) == limits_percent


def test_no_other_band_is_offered_as_a_document_s():
    assert set(BANDS) == {size for size, _ in bands_by_size(SIZES_OF_COARSE_AGGREGATE)}


# Openings of the coarse sieves, as the same table heads its rows (looked up).
INCH_SIEVES = {"3": 75, "2½": 63, "2": 50, "1½": 37.5, "1": 25, "¾": 19, "½": 12.5, "⅜": 9.5}
# ASTM E11, openings of the sieves that US practice names by a number (from memory).
NUMBERED_SIEVES = {4: 4.75, 8: 2.36, 16: 1.18, 30: 0.600, 50: 0.300, 100: 0.150, 200: 0.075}


def inches_of(name):
    """1½ in as a number of inches."""
    halves = {"½": Fraction(1, 2), "¾": Fraction(3, 4), "⅜": Fraction(3, 8)}
    text = name.removesuffix(" in")
    return sum(halves.get(part, 0) or Fraction(part) for part in re.findall(r"\d+|[½¾⅜]", text))


def test_sieves_are_named_by_their_numbers_and_by_inches_of_about_their_opening():
    numbered = {opening: name for opening, name in SIEVE_NAMES.items() if name.startswith("No.")}
    by_inches = {opening: name for opening, name in SIEVE_NAMES.items() if name.endswith(" in")}

    assert numbered == {opening: f"No. {number}" for number, opening in NUMBERED_SIEVES.items()}
    assert by_inches == {opening: f"{inches} in" for inches, opening in INCH_SIEVES.items()}
    assert set(numbered) | set(by_inches) == set(SIEVE_NAMES)
    for opening, name in by_inches.items():
        assert opening == pytest.approx(float(inches_of(name)) * 25.4, rel=0.02), name


# What documents ask, as they print it: rule, what for, figure, unit, how we know.
RATES = [
    ("ontario", "limit", 250, "mm/h", "Ontario LID guide, inspection of permeable pavement; looked up"),
    ("asce_68", "acceptance", 100, "in/h", "ASCE/T&DI/ICPI 68-18; from memory"),
    ("minnesota", "after_cleaning", 10, "in/h", "Minnesota Stormwater Manual, operation; looked up"),
    ("north_carolina", "acceptance", 50, "in/h", "15A NCAC 02H .1055(6); looked up"),
    ("new_jersey", "acceptance", 6.4, "in/h", "New Jersey BMP manual ch. 9.6, March 2021; looked up"),
    ("netherlands", "acceptance", 540, "L/(s·ha)", "Boogaard et al. 2014, Water 6(7):2070; looked up"),
    ("netherlands", "limit", 0.50, "m/d", "Boogaard et al. 2014, Water 6(7):2070; looked up"),
    ("european_minimum", "limit", 270, "L/(s·ha)", "Boogaard, Lucke & Beecham 2013; looked up"),
    ("germany", "acceptance", 5.4e-5, "m/s", "German page on design rainfall of paving; looked up"),
    ("germany", "limit", 270, "L/(s·ha)", "German page on design rainfall of paving; looked up"),
    ("brazil", "acceptance", 1e-3, "m/s", "NBR 16416:2015; looked up"),
    ("united_kingdom", "acceptance", 2500, "mm/h", "CIRIA C753 and BS 7533 family; from memory"),
    ("wisconsin", "acceptance", 100, "in/h", "Wisconsin DNR 1008; from memory"),
    ("wisconsin", "limit", 10, "in/h", "Wisconsin DNR 1008; from memory"),
    ("western_washington", "acceptance", 20, "in/h", "W. Washington manual; from memory, unverified"),
    ("western_washington", "limit", 10, "in/h", "W. Washington manual; from memory, unverified"),
]
METRES_A_SECOND = {
    "mm/h": constants.milli / constants.hour,
    "in/h": constants.inch / constants.hour,
    "L/(s·ha)": constants.liter / constants.hectare,
    "m/d": 1 / constants.day,
    "m/s": 1.0,
}


@pytest.mark.parametrize(("rule", "what", "printed", "unit", "source"), RATES)
def test_rates_of_a_rule_are_those_its_document_prints(rule, what, printed, unit, source):
    """Units by scipy.constants (CODATA and the definitions it cites)."""
    held = getattr(limits.PRESETS[rule], f"{what}_mm_h")

    assert held == pytest.approx(printed * METRES_A_SECOND[unit] / METRES_A_SECOND["mm/h"], rel=1e-12)
    assert limits.PRESETS[rule].source.status.value.replace("_", " ") in source


def test_a_rule_gives_no_rate_that_its_document_does_not():
    held = {
        (key, what)
        for key, rule in limits.PRESETS.items()
        for what in ("acceptance", "limit", "after_cleaning")
        if getattr(rule, f"{what}_mm_h") is not None
    }

    assert held == {(rule, what) for rule, what, *_ in RATES}


# Unit factors by scipy.constants, which cites its own sources.
FACTORS = [
    (units.MM_PER_IN, constants.inch / constants.milli),
    (units.MM_PER_FT, constants.foot / constants.milli),
    (units.KG_PER_LB, constants.pound),
    (units.M2_PER_FT2, constants.foot**2),
    (units.M3_PER_FT3, constants.foot**3),
    (units.L_PER_GAL, constants.gallon_US / constants.liter),
    (units.S_PER_H, constants.hour),
    (units.MM_H_PER_M_S, 1 / METRES_A_SECOND["mm/h"]),
    (units.MM_H_PER_L_S_HA, METRES_A_SECOND["L/(s·ha)"] / METRES_A_SECOND["mm/h"]),
    (units.MM_H_PER_L_MIN_M2, constants.liter / constants.minute / METRES_A_SECOND["mm/h"]),
    (units.in_h_to_mm_h(1), METRES_A_SECOND["in/h"] / METRES_A_SECOND["mm/h"]),
    (units.m_s_to_mm_h(1), 1 / METRES_A_SECOND["mm/h"]),
    (units.m_d_to_mm_h(1), METRES_A_SECOND["m/d"] / METRES_A_SECOND["mm/h"]),
    (units.l_s_ha_to_mm_h(1), METRES_A_SECOND["L/(s·ha)"] / METRES_A_SECOND["mm/h"]),
    (units.l_min_m2_to_mm_h(1), constants.liter / constants.minute / METRES_A_SECOND["mm/h"]),
    (units.gal_min_ft2_to_l_min_m2(1), constants.gallon_US / constants.liter / constants.foot**2),
]


@pytest.mark.parametrize(("held", "defined"), FACTORS)
def test_units_are_those_that_are_defined(held, defined):
    assert held == pytest.approx(defined, rel=1e-12)


@pytest.mark.parametrize(
    ("quantity", "si_per_us"),
    [
        (Quantity.RATE, constants.inch / constants.milli),
        (Quantity.AREA, constants.foot**2),
        (Quantity.SHORT_LENGTH, constants.inch / constants.milli),
        (Quantity.LENGTH, constants.foot),
        (Quantity.MASS, constants.pound),
        (Quantity.VOLUME, constants.foot**3),
    ],
)
def test_each_quantity_is_shown_by_its_defined_factor(quantity, si_per_us):
    assert units.to_display(1000.0, quantity, UnitSystem.US).value == pytest.approx(
        1000.0 / si_per_us, rel=1e-12
    )
    assert units.to_display(1000.0, quantity, UnitSystem.SI).value == 1000.0
    assert units.from_display(7.0, quantity, UnitSystem.US) == pytest.approx(7.0 * si_per_us, rel=1e-12)
    assert units.from_display(7.0, quantity, UnitSystem.SI) == 7.0


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 4.0, 20.0, 37.5])
def test_temperatures_are_shown_as_scipy_converts_them(celsius):
    fahrenheit = constants.convert_temperature(celsius, "Celsius", "Fahrenheit")

    assert units.to_display(celsius, Quantity.TEMPERATURE, UnitSystem.US).value == pytest.approx(fahrenheit)
    assert units.from_display(float(fahrenheit), Quantity.TEMPERATURE, UnitSystem.US) == pytest.approx(
        celsius
    )


# ASTM C1701/C1701M and C1781/C1781M, each in its own units: SI, inch-pound (from memory; heads and prewet looked up).
RING_TABLE = {
    "diameter_nominal": (300, 12.0),
    "diameter_min": (290, 11.5),
    "diameter_max": (310, 12.5),
    "small_mass": (3.60, 8.00),
    "small_mass_tolerance": (0.05, 0.10),
    "large_mass": (18.00, 40.00),
    "large_mass_tolerance": (0.05, 0.10),
    "head_low": (10, 0.40),
    "head_high": (15, 0.60),
    "constant": (4_583_666_000, 126_870),
}


@pytest.mark.parametrize("name", RING_TABLE)
def test_the_ring_test_has_the_sizes_of_its_standard_in_both_systems(name):
    held = tuple(getattr(ring.PROCEDURES[system], name) for system in (UnitSystem.SI, UnitSystem.US))

    assert held == RING_TABLE[name]


def test_the_ring_test_has_the_times_of_its_standard():
    """Prewetting under 30 s (NBR 16416:2015, looked up), start within 2 min (looked up), repeat in 5 min (memory)."""
    assert ring.PREWET_SWITCH_S == 30
    assert ring.LONGEST_START_DELAY_S == 2 * 60
    assert ring.LONGEST_REPEAT_GAP_MIN == 5
    assert ring.MOST_TESTS_PER_SPOT_AND_DAY == 2


def test_spots_are_a_metre_or_three_feet_apart():
    """ASTM C1701/C1701M, C1781/C1781M (from memory)."""
    assert minimum_spacing_m(UnitSystem.SI) == 1.0
    assert minimum_spacing_m(UnitSystem.US) == pytest.approx(3 * constants.foot)


# Distances to keep, as printed: place, what, figure, unit.
SETBACKS = [
    ("Minnesota", "property line", 10, "ft"),
    ("Minnesota", "building foundation, ground sloping away", 10, "ft"),
    ("Minnesota", "private well", 50, "ft"),
    ("Minnesota", "septic system", 35, "ft"),
    ("Minnesota", "drinking-water well", 100, "ft"),
    ("Minnesota", "saturated soil or bedrock, downwards", 3, "ft"),
    ("Minnesota", "active karst, up-gradient", 1000, "ft"),
    ("Minnesota", "active karst, down-gradient", 100, "ft"),
    ("Minnesota", "toe of a slope of 20 % or more", 200, "ft"),
    ("Ontario", "building foundation, down-gradient, with run-on and no geomembrane", 4, "m"),
    ("ICPI", "building foundation unless waterproofed and drained", 3, "m"),
    ("ICPI", "well or surface water", 30, "m"),
    ("ICPI", "water table or bedrock, downwards", 0.6, "m"),
    ("United Kingdom", "building foundation", 5, "m"),
]


def test_setbacks_are_those_that_are_printed():
    """Minnesota manual (tables of setbacks), Ontario guide, ICPI tolerance guide 2020: looked up; UK: from memory."""
    metres = {"ft": constants.foot, "m": 1.0}

    held = {(s.place, s.what): s.least_m for s in rain.SETBACKS}

    assert held == pytest.approx(
        {(place, what): value * metres[unit] for place, what, value, unit in SETBACKS}
    )
    assert [s.place for s in rain.SETBACKS if s.only_with_run_on] == ["Ontario"]


def test_rules_on_drain_time_and_run_on_are_those_that_are_printed():
    """NJ BMP manual 9.6, 15A NCAC 02H .1055, FHWA-HIF-19-021, Ontario guide: looked up."""
    drain = {rule.place: (rule.most, rule.least) for rule in rain.DRAIN_TIME_RULES_H}
    run_on = {rule.place: (rule.most, rule.least) for rule in rain.RUN_ON_RULES}

    assert drain == {
        "New Jersey": (72, None),
        "North Carolina": (72, None),
        "coastal US state guide": (48, None),
        "US highways, with underdrain": (72, None),
        "Ontario": (96, None),
    }
    assert run_on == {"North Carolina": (1, None), "New Jersey": (3, None), "Ontario": (2, None)}


def test_slow_soil_asks_for_an_underdrain_and_fast_soil_bounds_the_depth_as_printed():
    """Ontario guide: below 15 mm/h, 2 m on soil of 45 mm/h and more; a coastal state guide: 0.3 in/h. Looked up."""
    drains = [least for least, _ in rain.SOIL_NEEDS_DRAIN]
    assert [least.si for least in drains] == pytest.approx([15, 0.3 * 25.4])
    assert [least.us for least in drains] == [0.6, 0.3]
    assert (rain.DEEPEST_MM, rain.FAST_SOIL_MM_H) == (2000, 45)


# Construction figures: type, key, what the document asks in words, how we know.
CONSTRUCTION = [
    # ICPI tolerance guide, September 2020: looked up.
    ("picp", "joint_width", "6 to 13 mm"),
    ("picp", "flatness", "-10 to 10 mm"),
    ("picp", "lippage", "at most 3 mm"),
    ("picp", "lippage_at_basins", "3 to 6 mm"),
    ("picp", "bedding_flat", "-10 to 10 mm"),
    ("picp", "bond_line", "-13 to 13 mm"),
    ("picp", "surface_slope", "0 to 5 %"),
    ("picp", "unit_proportion", "at most 3"),
    ("picp", "unit_cuts", "at least 33 %"),
    ("picp", "water_table_separation", "at least 600 mm"),
    # ICPI contractor article on bases: looked up.
    ("picp", "bedding_thickness", "40 to 50 mm"),
    ("picp", "unit_thickness", "at least 80 mm"),
    # 15A NCAC 02H .1055: looked up.
    ("picp", "subgrade_slope", "at most 2 %"),
    # Minnesota Stormwater Manual, materials and summary of specifications: looked up.
    ("picp", "observation_well", "100 to 150 mm"),
    ("picp", "open_area", "at least 5 %"),
    ("pervious_concrete", "concrete_thickness", "125 to 200 mm"),
    ("pervious_concrete", "concrete_voids", "15 to 35 %"),
    ("porous_asphalt", "asphalt_thickness", "at least 65 mm"),
    ("porous_asphalt", "asphalt_voids", "16 to 20 %"),
    ("porous_asphalt", "asphalt_choker", "at least 25 mm"),
    # Draft of the Ontario guide comparing jurisdictions: looked up.
    ("gravel", "surface_slope", "1 to 5 %"),
    # Resin-bound advice sheet and trade article: looked up.
    ("resin_bound", "resin_base_age", "at least 14 d"),
    ("resin_bound", "resin_moisture", "less than 0.5 %"),
    ("resin_bound", "resin_depth", "at least 18 mm"),
    # Trade guidance, ACI 522.1, asphalt and resin guides, accessibility: from memory.
    ("picp", "subbase_lift", "at most 300 mm"),
    ("picp", "base_lift", "at most 150 mm"),
    ("picp", "subbase_passes", "at least 4 passes"),
    ("picp", "base_passes", "at least 4 passes"),
    ("picp", "subbase_fines", "at most 2 %"),
    ("picp", "geotextile_overlap", "at least 300 mm"),
    ("picp", "unit_seating", "at least 2 passes"),
    ("picp", "base_fines", "at most 2 %"),
    ("picp", "joint_fill_level", "0 to 6 mm"),
    ("picp", "openings", "at most 13 mm"),
    ("pervious_concrete", "concrete_density", "-80 to +80 kg/m³ of the design"),
    ("pervious_concrete", "concrete_cover_time", "at most 20 min"),
    ("pervious_concrete", "concrete_cure", "at least 7 d"),
    ("porous_asphalt", "asphalt_opening", "at least 24 h"),
    ("resin_bound", "resin_temperature", "at least 5 °C"),
    ("resin_bound", "resin_foot", "at least 8 h"),
    ("resin_bound", "resin_vehicles", "at least 24 h"),
    ("resin_joint", "resin_joint_temperature", "at least 5 °C"),
    ("resin_joint", "resin_joint_dry", "at least 24 h"),
    ("resin_joint", "resin_joint_foot", "at least 24 h"),
    ("resin_joint", "resin_joint_vehicles", "at least 168 h"),
    # Tolerances of this tool, which the job's specification replaces.
    ("picp", "overflow_invert", "-10 to +10 mm of the design"),
    ("picp", "subgrade_level", "-25 to +25 mm of the design"),
    ("picp", "subgrade_soil_rate", "at least 0 mm/h of the design"),
    ("picp", "subbase_thickness", "-25 to +25 mm of the design"),
    ("picp", "base_thickness", "-15 to +15 mm of the design"),
    ("picp", "bound_thickness", "-10 to +10 mm of the design"),
    ("clay", "joint_width", "-3 to +3 mm of the design"),
    # ASTM C1272 for vehicles (from memory): 2 5/8 in, 67 mm.
    ("clay", "unit_thickness", "at least 67 mm"),
    # Bound laying, trade guidance (from memory); the data sheet comes first.
    ("picp", "bound_temperature", "at least 5 °C"),
    ("picp", "bound_cure", "at least 168 h"),
    ("concrete_grid", "grid_thickness", "at least 80 mm"),
    ("concrete_grid", "grid_fill_level", "0 to 15 mm"),
    ("plastic_grid", "cell_fill_level", "-5 to 10 mm"),
    ("gravel", "gravel_thickness", "-10 to +20 mm of the design"),
    # What the area and the limits of the surface ask.
    ("picp", "acceptance_spots", "at least 0 spots of the design"),
    ("picp", "acceptance_rate", "at least 0 mm/h of the design"),
]


@pytest.mark.parametrize(("kind", "key", "asked"), CONSTRUCTION)
def test_construction_checks_ask_what_their_documents_ask(kind, key, asked):
    assert in_units(every_check(kind)[key], UnitSystem.SI).range_text == asked


# The same criteria as a US document or a US crew prints them: ICPI tolerance guide, base article and Minnesota's list
# in inch sizes (from memory where the stored copy gives millimetres); ACI 522.1 density in lb/ft³ (from memory); the
# rest tolerances of this tool. Typed in by hand; none is a conversion of the metric figure.
IN_INCHES = [
    ("picp", "water_table_separation", "at least 24 in"),
    ("picp", "subgrade_level", "-1 to +1 in of the design"),
    ("picp", "geotextile_overlap", "at least 12 in"),
    ("picp", "overflow_invert", "-3/8 to +3/8 in of the design"),
    ("picp", "observation_well", "4 to 6 in"),
    ("picp", "subbase_lift", "at most 12 in"),
    ("picp", "base_lift", "at most 6 in"),
    ("picp", "subbase_thickness", "-1 to +1 in of the design"),
    ("picp", "base_thickness", "-1/2 to +1/2 in of the design"),
    ("picp", "bedding_thickness", "1 1/2 to 2 in"),
    ("picp", "bedding_flat", "-3/8 to 3/8 in"),
    ("picp", "unit_thickness", "at least 3 1/8 in"),
    ("clay", "unit_thickness", "at least 2 5/8 in"),
    ("picp", "bond_line", "-1/2 to 1/2 in"),
    ("picp", "joint_width", "1/4 to 1/2 in"),
    ("clay", "joint_width", "-1/8 to +1/8 in of the design"),
    ("picp", "joint_fill_level", "0 to 1/4 in"),
    ("picp", "flatness", "-3/8 to 3/8 in"),
    ("picp", "lippage", "at most 1/8 in"),
    ("picp", "lippage_at_basins", "1/8 to 1/4 in"),
    ("picp", "openings", "at most 1/2 in"),
    ("picp", "bound_thickness", "-3/8 to +3/8 in of the design"),
    ("picp", "bound_temperature", "at least 40 °F"),
    ("resin_bound", "resin_depth", "at least 3/4 in"),
    ("resin_bound", "resin_temperature", "at least 40 °F"),
    ("resin_joint", "resin_joint_temperature", "at least 40 °F"),
    ("pervious_concrete", "concrete_thickness", "5 to 8 in"),
    ("pervious_concrete", "concrete_density", "-5 to +5 lb/ft³ of the design"),
    ("porous_asphalt", "asphalt_choker", "at least 1 in"),
    ("porous_asphalt", "asphalt_thickness", "at least 2 1/2 in"),
    ("concrete_grid", "grid_thickness", "at least 3 1/8 in"),
    ("concrete_grid", "grid_fill_level", "0 to 5/8 in"),
    ("plastic_grid", "cell_fill_level", "-3/16 to 3/8 in"),
    ("gravel", "gravel_thickness", "-3/8 to +3/4 in of the design"),
    # Nothing at all is nothing in either system.
    ("picp", "subgrade_soil_rate", "at least 0 in/h of the design"),
    ("picp", "acceptance_rate", "at least 0 in/h of the design"),
]


def every_check(kind, use=HeaviestUse.VEHICLE):
    return {c.key: c for bound in (False, True) for c in checks_for(SurfaceType(kind), use, bound_bed=bound)}


@pytest.mark.parametrize(("kind", "key", "asked"), IN_INCHES)
def test_construction_checks_ask_inch_builders_for_inch_sizes(kind, key, asked):
    assert in_units(every_check(kind)[key], UnitSystem.US).range_text == asked


def test_no_construction_figure_that_reads_otherwise_in_the_us_stands_without_its_row_above():
    differing = {
        key
        for kind in SurfaceType
        for use in HeaviestUse
        for key, check in every_check(kind, use).items()
        if check.is_number and quantity_of(check.unit)
    }

    assert differing == {key for _, key, _ in IN_INCHES}


def test_the_straightedge_and_the_string_are_as_long_as_a_us_crew_has_them():
    asked = {key: in_units(check, UnitSystem.US).asked for key, check in every_check("picp").items()}

    assert asked["flatness"] == "Surface under a 10 ft straightedge."
    assert asked["bedding_flat"] == "Bedding under a 10 ft straightedge."
    assert asked["bond_line"] == "Bond line off the string over 50 ft."
    assert asked["base_fines"] == "Passing the No. 200 sieve, washed."


def test_no_construction_figure_stands_without_its_row_above():
    figures = {
        check.key
        for kind in SurfaceType
        for traffic in HeaviestUse
        for check in every_check(kind, traffic).values()
        if check.is_number
    }

    assert figures == {key for _, key, _ in CONSTRUCTION}


def test_feet_ask_for_less_than_vehicles():
    """Units of 60 mm and proportions of 4 to 1 (ICPI), 15 mm of resin-bound stone (trade article): looked up."""
    on_foot = {
        check.key: check.range_text
        for kind in (SurfaceType.PICP, SurfaceType.RESIN_BOUND)
        for check in checks_for(kind, HeaviestUse.FOOT)
    }

    assert on_foot["unit_thickness"] == "at least 60 mm"
    assert on_foot["unit_proportion"] == "at most 4"
    assert on_foot["resin_depth"] == "at least 15 mm"
    assert every_check("clay", HeaviestUse.FOOT)["unit_thickness"].range_text == "at least 57 mm"
    assert every_check("picp", HeaviestUse.FOOT)["bound_cure"].range_text == "at least 24 h"


# AASHTO M 288 practice (from memory): overlap by CBR of the subgrade; the softest is sewn.
@pytest.mark.parametrize(
    ("cbr", "overlap"),
    [
        (3.01, (300, 12)),
        (3, (600, 24)),
        (1, (600, 24)),
        (0.99, (1000, 36)),
        (0.5, (1000, 36)),
        (0.49, None),
        (0, None),
        (None, (300, 12)),
    ],
)
def test_overlaps_of_geotextile_are_those_of_practice(cbr, overlap):
    """In mm and in inches, as M 288 practice prints them for either half of the trade."""
    needed = overlap_needed(cbr)

    assert (needed and (needed.si, needed.us)) == overlap


HOLD_POINTS = {
    "utilities_located",
    "subgrade_undisturbed",
    "subgrade_soil_rate",
    "subgrade_clean",
    "geotextile_overlap",
    "overflow_invert",
    "overflow_free",
    "subbase_open_graded",
    "subbase_thickness",
    "base_open_graded",
    "base_thickness",
    "edge_restraint",
    "joint_stone",
    "acceptance_spots",
    "acceptance_rate",
}


def test_the_work_stops_where_the_next_layer_would_hide_what_cannot_be_undone():
    """Common practice, no source: hold points of a paver surface."""
    assert {check.key for check in checks_for(SurfaceType.PICP) if check.hold_point} == HOLD_POINTS
