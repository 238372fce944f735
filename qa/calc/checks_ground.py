"""Checks from the subgrade up to the bedding, much the same for every surface type."""

from core.calc.nominal import Nominal
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError
from qa.calc import check_sources as src
from qa.calc.check_model import Check, HeaviestUse, Stage
from qa.calc.numbers import short

_REDO_LIFT = gettext_noop("Spread it thinner and compact again before the next lift.")


def overlap_needed(subgrade_cbr: float | None) -> Nominal | None:
    """Least overlap of geotextile in mm and in by the subgrade's CBR in percent; None where it must be sewn.

    300 mm (12 in) above 3, 600 mm (24 in) from 1 to 3, 1 m (36 in) from 0.5 to 1; an unknown subgrade is taken as
    above 3.

    Source: AASHTO M 288 practice (from memory, verify against the current edition).
    """
    if subgrade_cbr is None or subgrade_cbr > 3:
        return Nominal(300.0, 12.0)
    if subgrade_cbr < 0:
        raise ImpossibleRecordError(
            _("CBR cannot be negative, got {cbr}. Enter it in percent.").format(cbr=short(subgrade_cbr))
        )
    if subgrade_cbr >= 1:
        return Nominal(600.0, 24.0)
    return Nominal(1000.0, 36.0) if subgrade_cbr >= 0.5 else None


def ground_checks(subgrade_cbr: float | None = None) -> tuple[Check, ...]:
    """Before digging, subgrade, geotextile, overflow."""
    return (*_BEFORE, *_SUBGRADE, *_geotextile(subgrade_cbr), *_OVERFLOW)


_BEFORE = (
    Check("utilities_located", Stage.BEFORE_DIGGING, gettext_noop("Utilities are located and marked."), src.UTILITIES,
          gettext_noop("Call the locating service and wait for the marks; do not dig."), hold_point=True),
    Check("runoff_kept_out", Stage.BEFORE_DIGGING, gettext_noop("Muddy runoff is kept out of the excavation."),
          src.PRACTICE, gettext_noop("Put up barriers and finish the ground around before the stone goes in.")),
)  # fmt: skip

_SUBGRADE = (
    Check("subgrade_undisturbed", Stage.SUBGRADE,
          gettext_noop("The subgrade is trimmed and not compacted, or as designed."), src.TIPS,
          gettext_noop("Loosen about {150 mm|6 in} and measure the soil rate again; "
                       "compaction takes 50 to 90 % of it."),
          hold_point=True),
    Check("subgrade_soil_rate", Stage.SUBGRADE,
          gettext_noop("Soil rate as measured, against design rate times safety factor."), src.TIPS,
          gettext_noop("Ask the designer; the drain time and the overflow rest on it."), unit="mm/h", least=0.0,
          against_design=True, hold_point=True, each="test pit"),
    Check("subgrade_slope", Stage.SUBGRADE, gettext_noop("Slope of the subgrade."), src.NORTH_CAROLINA,
          gettext_noop("Level it, or build terraces or check dams; a slope takes storage away."), unit="%", most=2.0,
          each="place"),
    Check("subgrade_level", Stage.SUBGRADE, gettext_noop("Level of the subgrade, against the design."), src.OWN,
          gettext_noop("Trim, or fill with the stone of the next layer, never with soil."), unit="mm", least=-25.0,
          most=25.0, least_us=-1.0, most_us=1.0, against_design=True, each="level"),
    Check("subgrade_clean", Stage.SUBGRADE, gettext_noop("No standing water, mud, frost or loose soil."), src.PRACTICE,
          gettext_noop("Pump, scrape off the mud, wait for the thaw."), hold_point=True),
    Check("water_table_separation", Stage.SUBGRADE, gettext_noop("Height above the seasonal water table or bedrock."),
          src.TOLERANCES, gettext_noop("Stop and ask the designer; local rules often ask for more."), unit="mm",
          least=600.0, least_us=24.0),
)  # fmt: skip


def _geotextile(subgrade_cbr: float | None) -> tuple[Check, ...]:
    needed = overlap_needed(subgrade_cbr)
    if needed is None:
        overlap = Check("geotextile_overlap", Stage.GEOTEXTILE, gettext_noop("Joints of the geotextile are sewn."),
                        src.OVERLAP, gettext_noop("Sew them; on soil this soft an overlap opens."),
                        hold_point=True)  # fmt: skip
    else:
        overlap = Check("geotextile_overlap", Stage.GEOTEXTILE, gettext_noop("Overlap of the geotextile."),
                        src.OVERLAP, gettext_noop("Relay it with the overlap the soil asks for."), unit="mm",
                        least=needed.si, least_us=needed.us, hold_point=True, each="overlap")  # fmt: skip
    return (
        Check("geotextile_class", Stage.GEOTEXTILE,
              gettext_noop("The geotextile is class 1 or 2 for drainage and separation."), src.M_288,
              gettext_noop("Have it exchanged; a slit film clogs or tears.")),
        overlap,
        Check("geotextile_sides", Stage.GEOTEXTILE,
              gettext_noop("Sides next to soil are covered to the top of the stone."), src.MINNESOTA_MATERIALS,
              gettext_noop("Cover them; soil washes in from the side.")),
        Check("geotextile_sound", Stage.GEOTEXTILE, gettext_noop("No tears, no wrinkles, no wheels on it."),
              src.PRACTICE, gettext_noop("Patch tears with an overlap all round; spread stone ahead of the machine."),
              each="place"),
    )  # fmt: skip


_OVERFLOW = (
    Check("overflow_invert", Stage.OVERFLOW,
          gettext_noop("Invert of the overflow above the subgrade, against the design."), src.OWN,
          gettext_noop("Reset the pipe; its height decides how much water stays to soak away."), unit="mm",
          least=-10.0, most=10.0, least_us=-3 / 8, most_us=3 / 8, against_design=True, hold_point=True),
    Check("overflow_free", Stage.OVERFLOW, gettext_noop("The pipe is clean and runs freely to its outlet."),
          src.PRACTICE, gettext_noop("Flush it and look at the outlet before it is covered."), hold_point=True),
    Check("observation_well", Stage.OVERFLOW, gettext_noop("Diameter of the capped observation well."),
          src.MINNESOTA_MATERIALS,
          gettext_noop("Set a well of the right size; without it nobody sees whether the stone empties."), unit="mm",
          least=100.0, most=150.0, least_us=4.0, most_us=6.0, each=gettext_noop("well")),
    Check("surface_overflow", Stage.OVERFLOW, gettext_noop("Water that cannot go in has a safe way over the surface."),
          src.CITY_CODE, gettext_noop("Shape the ground so that ponding never reaches a building.")),
)  # fmt: skip

_OPEN_GRADED = gettext_noop("Only open-graded stone is used; dense-graded road base does not drain.")
_STILL = gettext_noop("The stone no longer moves under the roller.")


def stone_checks(stage: Stage, grading: str, lift_most: Nominal, tolerance: Nominal) -> tuple[Check, ...]:
    """A layer of open-graded stone: material, each lift with its thickness and passes, total thickness.

    stage: subbase or base. grading: what is asked of the sieve analysis. lift_most: thickest lift, mm and in;
    tolerance: likewise.
    """
    name = stage.value
    return (
        Check(f"{name}_open_graded", stage, _OPEN_GRADED, src.PRACTICE,
              gettext_noop("Send it back; take out what has been spread."), hold_point=True, each="delivery"),
        Check(f"{name}_grading", stage, grading, src.SIZES,
              gettext_noop("Ask for another analysis; send the stone back if it fails again."), each="delivery"),
        Check(f"{name}_fines", stage, gettext_noop("Passing the {0.075 mm|No. 200} sieve, washed."), src.CLEAN_STONE,
              gettext_noop("Have it washed; fines settle on the subgrade and seal it."), unit="%", most=2.0,
              each="delivery"),
        Check(f"{name}_lift", stage, gettext_noop("Thickness of the lift."), src.COMPACTION, _REDO_LIFT, unit="mm",
              most=lift_most.si, most_us=lift_most.us, each="lift"),
        Check(f"{name}_passes", stage, gettext_noop("Passes of the roller, two vibrating and two static."),
              src.COMPACTION,
              gettext_noop("Roll on; use a plate of {60 kN|13,500 lbf} or more where a roller cannot go."),
              unit="passes", least=4.0, each="lift"),
        Check(f"{name}_still", stage, _STILL, src.COMPACTION,
              gettext_noop("Roll on; if it will not lock, look at the stone and at the soil below."), each="lift"),
        Check(f"{name}_thickness", stage, gettext_noop("Thickness of the layer, against the design."), src.OWN,
              gettext_noop("Add stone of the same size or trim it."), unit="mm", least=-tolerance.si,
              most=tolerance.si, least_us=-tolerance.us, most_us=tolerance.us, against_design=True, hold_point=True,
              each="level"),
    )  # fmt: skip


SUBBASE = stone_checks(
    Stage.SUBBASE,
    gettext_noop(
        "The sieve analysis lies in its band (No. 2, {50 mm|2 in} clear crushed or No. 3 or as specified)."
    ),
    Nominal(300.0, 12.0),
    Nominal(25.0, 1.0),
)
BASE = stone_checks(
    Stage.BASE,
    gettext_noop(
        "The sieve analysis lies in its band (No. 57, {19 mm|3/4 in} clear crushed or as specified)."
    ),
    Nominal(150.0, 6.0),
    Nominal(15.0, 1 / 2),
)

EDGE = (
    Check("edge_restraint", Stage.EDGE,
          gettext_noop("Edge restraint stands on the base, is fixed and follows the line."), src.PRACTICE,
          gettext_noop("Fix it before units are laid; loose edges open the joints."), hold_point=True, each="stretch"),
)  # fmt: skip

BEDDING = (
    Check("bedding_stone", Stage.BEDDING,
          gettext_noop("Bedding is washed stone (No. 8 or as specified), neither sand nor mortar."), src.SIZES,
          gettext_noop("Take it out: sand moves into the base, and both hold water back.")),
    Check("bedding_thickness", Stage.BEDDING, gettext_noop("Thickness of the bedding."), src.BASES,
          gettext_noop("Correct the base, not the bedding."), unit="mm", least=40.0, most=50.0, least_us=3 / 2,
          most_us=2.0, each="level"),
    Check("bedding_flat", Stage.BEDDING, gettext_noop("Bedding under a {3 m|10 ft} straightedge."), src.TOLERANCES,
          gettext_noop("Screed it again."), unit="mm", least=-10.0, most=10.0, least_us=-3 / 8, most_us=3 / 8,
          each="place"),
    Check("bedding_loose", Stage.BEDDING, gettext_noop("Bedding is screeded and not compacted before the units."),
          src.COMPACTION, gettext_noop("Loosen and screed again.")),
)  # fmt: skip

# Units on drainage concrete, or on a bound bedding: laid wet, held by a bonding agent, closed until it has set.
BOUND_BED = (
    Check("bound_mix", Stage.BEDDING, gettext_noop("The mix of the bound bed is the specified one, and drains."),
          src.BOUND, gettext_noop("Discard the batch; a rich or fine mix sets closed."), hold_point=True,
          each="batch"),
    Check("bound_temperature", Stage.BEDDING, gettext_noop("Temperature while laying and setting the bound bed."),
          src.BOUND, gettext_noop("Wait for a warmer day, or cover it warm."), unit="°C", least=5.0, least_us=40.0),
    Check("bound_thickness", Stage.BEDDING, gettext_noop("Thickness of the bound bed, against the design."), src.OWN,
          gettext_noop("Correct the base, or lay it again before it sets."), unit="mm", least=-10.0, most=10.0,
          least_us=-3 / 8, most_us=3 / 8, against_design=True, hold_point=True, each="level"),
    Check("bound_drains", Stage.BEDDING, gettext_noop("Water poured on the bound bed goes through it."), src.BOUND,
          gettext_noop("Take it out; the joints cannot drain through a closed bed."), hold_point=True, each="place"),
    Check("bonding_agent", Stage.SURFACE,
          gettext_noop("Bonding agent covers the underside of each unit, and is still fresh."), src.BOUND,
          gettext_noop("Clean the unit, coat it again and set it; a skinned agent does not hold."), hold_point=True,
          each="unit lifted again"),
    Check("bound_open_time", Stage.SURFACE, gettext_noop("Units are set before the bound bed begins to stiffen."),
          src.DATA_SHEET, gettext_noop("Take up the stiff bed and lay it fresh.")),
)  # fmt: skip


def bound_cure(use: HeaviestUse) -> Check:
    """Hours from laying a bound bed to the first traffic; the work that follows waits for it."""
    vehicles = gettext_noop("Hours from laying the bound bed to vehicles.")
    feet = gettext_noop("Hours from laying the bound bed to foot traffic.")
    hours, asked = (168.0, vehicles) if use is HeaviestUse.VEHICLE else (24.0, feet)
    return Check("bound_cure", Stage.CURE, asked, src.BOUND,
                 gettext_noop("Keep it closed; follow the data sheet, cold makes it longer."), unit="h", least=hours,
                 hold_point=True)  # fmt: skip
