"""Checks of the surface course, its joints, cure, finish and acceptance, by surface type."""

from collections.abc import Mapping
from types import MappingProxyType

from core.calc.nominal import Nominal
from core.calc.paving import SurfaceType
from core.calc.translation import gettext_noop
from qa.calc import check_sources as src
from qa.calc.check_model import Check, HeaviestUse, Stage
from qa.calc.sources import Source

_DRY = gettext_noop("Cover it, or wait for dry weather.")

_CONCRETE_UNITS = {HeaviestUse.FOOT: Nominal(60.0, 2 + 3 / 8), HeaviestUse.VEHICLE: Nominal(80.0, 3 + 1 / 8)}
CLAY_UNITS = {HeaviestUse.FOOT: Nominal(57.0, 2 + 1 / 4), HeaviestUse.VEHICLE: Nominal(67.0, 2 + 5 / 8)}


def unit_checks(
    use: HeaviestUse, thickness: Mapping[HeaviestUse, Nominal] = _CONCRETE_UNITS, source: Source = src.BASES
) -> tuple[Check, ...]:
    """Pavers: thickness, proportions, cutting, lines, seating. thickness: the least by use, mm and in."""
    vehicles = use is HeaviestUse.VEHICLE
    least = thickness[use]
    return (
        Check("unit_thickness", Stage.SURFACE, gettext_noop("Thickness of the units."), source,
              gettext_noop("Have thicker units delivered for this traffic."), unit="mm", least=least.si,
              least_us=least.us, each="unit"),
        Check("unit_proportion", Stage.SURFACE, gettext_noop("Length of a unit over its thickness."), src.TOLERANCES,
              gettext_noop("Use smaller or thicker units; long thin ones break."), most=3.0 if vehicles else 4.0),
        Check("unit_cuts", Stage.SURFACE, gettext_noop("Smallest cut piece, as a share of a whole unit."),
              src.TOLERANCES, gettext_noop("Change the pattern at the edge so that pieces get larger."), unit="%",
              least=33.0),
        Check("bond_line", Stage.SURFACE, gettext_noop("Bond line off the string over {15 m|50 ft}."), src.TOLERANCES,
              gettext_noop("Straighten the rows before compaction."), unit="mm", least=-13.0, most=13.0,
              least_us=-1 / 2, most_us=1 / 2, each="line"),
        Check("unit_seating", Stage.SURFACE,
              gettext_noop("Passes of the plate, {22 kN|5,000 lbf} or more at 75 to 90 Hz."), src.COMPACTION,
              gettext_noop("Compact on; keep {2 m|6 ft} off unrestrained edges."), unit="passes", least=2.0),
    )  # fmt: skip


JOINT_WIDTH_PICP = Check("joint_width", Stage.JOINTS, gettext_noop("Width of the joints."), src.TOLERANCES,
                         gettext_noop("Lift and relay; narrow joints take little water, wide ones lose their stone."),
                         unit="mm", least=6.0, most=13.0, least_us=1 / 4, most_us=1 / 2, each="joint")  # fmt: skip
JOINT_WIDTH_DESIGN = Check("joint_width", Stage.JOINTS, gettext_noop("Width of the joints, against the design."),
                           src.OWN,
                           gettext_noop("Lift and relay; narrow joints take little water, wide ones lose their stone."),
                           unit="mm", least=-3.0, most=3.0, least_us=-1 / 8, most_us=1 / 8, against_design=True,
                           each="joint")  # fmt: skip
OPEN_AREA = Check("open_area", Stage.JOINTS, gettext_noop("Share of joints and openings in the surface."),
                  src.MINNESOTA_SUMMARY,
                  gettext_noop("Large units leave little joint area: slope the surface, and test before going on."),
                  unit="%", least=5.0)  # fmt: skip
STONE_JOINTS = (
    Check("joint_stone", Stage.JOINTS, gettext_noop("Joint stone is the specified size for the width, never sand."),
          src.JOINT_STONE, gettext_noop("Take it out by vacuum and fill again."), hold_point=True),
    Check("joint_fill_level", Stage.JOINTS, gettext_noop("Top of the joint stone below the top of the units."),
          src.JOINT_STONE, gettext_noop("Brush in more stone after compaction and fill again."), unit="mm", least=0.0,
          most=6.0, least_us=0.0, most_us=1 / 4, each="joint"),
    Check("joint_refill_planned", Stage.JOINTS, gettext_noop("Topping up about 6 months after opening is planned."),
          src.JOINT_STONE, gettext_noop("Plan it: new joints settle.")),
)  # fmt: skip

RESIN_JOINTS = (
    Check("resin_joint_size", Stage.JOINTS, gettext_noop("Joints are as wide, deep and clean as the data sheet asks."),
          src.DATA_SHEET, gettext_noop("Rake and blow them out; shallow joints break loose."), hold_point=True),
    Check("resin_prewet", Stage.JOINTS,
          gettext_noop("The stone is wetted just before the resin joints, as the data sheet says."), src.PRACTICE,
          gettext_noop("Wet it first; dry stone holds a film of resin.")),
    Check("resin_joint_temperature", Stage.JOINTS, gettext_noop("Temperature while jointing and setting."),
          src.RESIN_CURE, gettext_noop("Wait for a warmer day."), unit="°C", least=5.0, least_us=40.0),
    Check("resin_not_tooled", Stage.JOINTS, gettext_noop("Joints are struck off level, not tooled or compacted hard."),
          src.PRACTICE, gettext_noop("Leave them open; tooling or compacting a joint lowers its permeability.")),
    Check("resin_film", Stage.JOINTS, gettext_noop("No film of resin is left on the stone."), src.DATA_SHEET,
          gettext_noop("Brush it off while fresh.")),
)  # fmt: skip
RESIN_JOINT_CURE = (
    Check("resin_joint_dry", Stage.CURE, gettext_noop("Hours kept dry after jointing."), src.RESIN_CURE, _DRY,
          unit="h", least=24.0),
    Check("resin_joint_foot", Stage.CURE,
          gettext_noop("Hours from jointing to foot traffic; firm, then safe to wash gently."), src.PRACTICE,
          gettext_noop("Keep it closed until the joints are firm."), unit="h", least=24.0),
    Check("resin_joint_vehicles", Stage.CURE, gettext_noop("Hours from jointing to vehicles."), src.RESIN_CURE,
          gettext_noop("Keep vehicles off; follow the data sheet."), unit="h", least=168.0),
    Check("resin_joint_tested", Stage.CURE,
          gettext_noop("Rate is tested: these joints vary from highly to slightly permeable."), src.RESIN_JOINTS_VARY,
          gettext_noop("Test it before handing over.")),
)  # fmt: skip


def resin_bound_checks(use: HeaviestUse) -> tuple[Check, ...]:
    """Resin-bound aggregate: base, weather, depth, cure."""
    depth = Nominal(18.0, 3 / 4) if use is HeaviestUse.VEHICLE else Nominal(15.0, 5 / 8)
    return (
        Check("resin_base_age", Stage.SURFACE, gettext_noop("Age of new asphalt under it."), src.RESIN_DEPTHS,
              gettext_noop("Wait; fresh asphalt gives off oil and moves."), unit="d", least=14.0),
        Check("resin_base_open", Stage.SURFACE, gettext_noop("Water poured on the base goes through it."),
              src.PRACTICE, gettext_noop("Open or replace the base; the surface cannot drain through a closed one."),
              hold_point=True, each="place"),
        Check("resin_moisture", Stage.SURFACE, gettext_noop("Moisture of the aggregate."), src.RESIN_STANDARDS,
              gettext_noop("Dry it; moisture whitens and foams the resin."), unit="%", most=0.5, most_excluded=True,
              each="batch"),
        Check("resin_mix", Stage.SURFACE, gettext_noop("Parts and mixing time are as the data sheet asks."),
              src.DATA_SHEET, gettext_noop("Discard the batch; a wrong mix never sets right."), each="batch"),
        Check("resin_temperature", Stage.SURFACE, gettext_noop("Temperature while laying and setting."),
              src.RESIN_CURE, gettext_noop("Wait for a warmer day."), unit="°C", least=5.0, least_us=40.0),
        Check("resin_depth", Stage.SURFACE, gettext_noop("Depth laid; {22 mm|7/8 in} for commercial traffic."),
              src.RESIN_STANDARDS, gettext_noop("Lay the full depth in one go."), unit="mm", least=depth.si,
              least_us=depth.us, each="level"),
        Check("resin_dry", Stage.CURE, gettext_noop("It stayed dry until set."), src.RESIN_CURE, _DRY),
        Check("resin_foot", Stage.CURE, gettext_noop("Hours to foot traffic, at about {20 °C|70 °F}."), src.RESIN_CURE,
              gettext_noop("Keep it closed; cold makes it longer."), unit="h", least=8.0),
        Check("resin_vehicles", Stage.CURE, gettext_noop("Hours to cars, at about {20 °C|70 °F}."), src.RESIN_CURE,
              gettext_noop("Keep vehicles off; cold makes it longer."), unit="h", least=24.0),
    )  # fmt: skip


PERVIOUS_CONCRETE = (
    Check("concrete_base_wet", Stage.SURFACE, gettext_noop("The stone is wetted before placing."), src.CONCRETE_SPEC,
          gettext_noop("Wet it; dry stone draws the water out of the mix.")),
    Check("concrete_density", Stage.SURFACE, gettext_noop("Fresh density, against the mix design."), src.CONCRETE_SPEC,
          gettext_noop("Reject the load or correct the mix."), unit="kg/m³", least=-80.0, most=80.0, least_us=-5.0,
          most_us=5.0, against_design=True, hold_point=True, each="load"),
    Check("concrete_thickness", Stage.SURFACE, gettext_noop("Thickness of the slab."), src.MINNESOTA_SUMMARY,
          gettext_noop("Correct the forms; ask the designer about what is placed."), unit="mm", least=125.0,
          most=200.0, least_us=5.0, most_us=8.0, each="level"),
    Check("concrete_voids", Stage.SURFACE, gettext_noop("Voids of the hardened concrete."), src.MINNESOTA_SUMMARY,
          gettext_noop("Take cores; sealed voids at the bottom do not show from above."), unit="%", least=15.0,
          most=35.0, each="core"),
    Check("concrete_cover_time", Stage.CURE, gettext_noop("Minutes from placing to cover."), src.CONCRETE_SPEC,
          gettext_noop("Mist and cover at once; the surface ravels if it dries."), unit="min", most=20.0),
    Check("concrete_cure", Stage.CURE, gettext_noop("Days covered and closed to traffic."), src.CONCRETE_SPEC,
          gettext_noop("Keep it covered and closed."), unit="d", least=7.0),
)  # fmt: skip

POROUS_ASPHALT = (
    Check("asphalt_choker", Stage.BEDDING,
          gettext_noop("Thickness of the choker of No. 57, {19 mm|3/4 in} clear crushed over the coarse stone."),
          src.MINNESOTA_MATERIALS, gettext_noop("Fill the surface of the stone until it carries the paver."),
          unit="mm", least=25.0, least_us=1.0, each="level"),
    Check("asphalt_temperature", Stage.SURFACE, gettext_noop("Mix temperature is within the mix design's range."),
          src.DATA_SHEET, gettext_noop("Send the load back."), each="load"),
    Check("asphalt_drain_off", Stage.SURFACE, gettext_noop("No binder has drained to the bottom of the load."),
          src.ASPHALT_GUIDE, gettext_noop("Send the load back; drained binder seals the voids."), each="load"),
    Check("asphalt_rolling", Stage.SURFACE, gettext_noop("Rolled static, and not past the point where it closes."),
          src.ASPHALT_GUIDE, gettext_noop("Stop rolling; test the rate there.")),
    Check("asphalt_thickness", Stage.SURFACE, gettext_noop("Thickness of the course."), src.MINNESOTA_SUMMARY,
          gettext_noop("Ask the designer; a thin course ravels."), unit="mm", least=65.0, least_us=5 / 2,
          each="level"),
    Check("asphalt_voids", Stage.SURFACE, gettext_noop("Voids of the course."), src.MINNESOTA_SUMMARY,
          gettext_noop("Take cores and correct the mix."), unit="%", least=16.0, most=20.0, each="core"),
    Check("asphalt_opening", Stage.CURE, gettext_noop("Hours from rolling to traffic; 48 in hot weather."),
          src.ASPHALT_GUIDE, gettext_noop("Keep it closed; warm binder closes under wheels."), unit="h", least=24.0),
    Check("asphalt_unsealed", Stage.CURE, gettext_noop("No seal coat was put on."), src.MINNESOTA_CARE,
          gettext_noop("Have it removed; a seal coat ends the drainage.")),
)  # fmt: skip

CONCRETE_GRID = (
    Check("grid_thickness", Stage.SURFACE, gettext_noop("Thickness of the grid units."), src.PRACTICE,
          gettext_noop("Have thicker units delivered."), unit="mm", least=80.0, least_us=3 + 1 / 8, each="unit"),
    Check("grid_sound", Stage.SURFACE, gettext_noop("No unit is cracked."), src.PRACTICE, gettext_noop("Replace it."),
          each="unit"),
    Check("grid_fill_level", Stage.JOINTS,
          gettext_noop("Fill below the top of the grid; wheels then run on the concrete."), src.OWN,
          gettext_noop("Add or take out fill."), unit="mm", least=0.0, most=15.0, least_us=0.0, most_us=5 / 8,
          each="opening"),
    Check("grid_fill_open", Stage.JOINTS, gettext_noop("Openings hold clean stone, or a planted mix as designed."),
          src.PRACTICE, gettext_noop("Take it out and fill again; fine soil closes the grid.")),
)  # fmt: skip

PLASTIC_GRID = (
    Check("panel_locked", Stage.SURFACE, gettext_noop("Panels are locked together and lie flat."), src.PRACTICE,
          gettext_noop("Lock and press them down before filling.")),
    Check("panel_gap", Stage.SURFACE, gettext_noop("Gap at fixed edges for warm days, as the data sheet says."),
          src.DATA_SHEET, gettext_noop("Cut it free; panels that cannot grow lift.")),
    Check("panel_anchored", Stage.SURFACE, gettext_noop("Panels are anchored where the surface slopes."),
          src.DATA_SHEET, gettext_noop("Anchor them before filling.")),
    Check("cell_stone", Stage.JOINTS, gettext_noop("Cells hold clean angular stone of the size the data sheet asks."),
          src.DATA_SHEET, gettext_noop("Take it out and fill again; round or fine stone moves or clogs."),
          hold_point=True),
    Check("cell_fill_level", Stage.JOINTS, gettext_noop("Fill against the top of the cells."), src.OWN,
          gettext_noop("Fill to the top; a wheel on an empty cell breaks it."), unit="mm", least=-5.0, most=10.0,
          least_us=-3 / 16, most_us=3 / 8, each="panel"),
)  # fmt: skip

GRAVEL = (
    Check("gravel_clean", Stage.SURFACE, gettext_noop("The gravel is washed, angular and of one size range."),
          src.PRACTICE, gettext_noop("Send it back; fines close it within a season."), hold_point=True,
          each="delivery"),
    Check("gravel_thickness", Stage.SURFACE, gettext_noop("Thickness of the gravel, against the design."), src.OWN,
          gettext_noop("Add or spread it."), unit="mm", least=-10.0, most=20.0, least_us=-3 / 8, most_us=3 / 4,
          against_design=True, each="level"),
)  # fmt: skip

_SLOPE = Check("surface_slope", Stage.FINISH, gettext_noop("Slope of the surface."), src.SLOPES,
               gettext_noop("Ask the designer; steep surfaces shed water, flat ones hold it when clogged."), unit="%",
               least=1.0, most=5.0, each="place")  # fmt: skip
_SLOPE_UNITS = Check("surface_slope", Stage.FINISH, gettext_noop("Slope of the surface."), src.TOLERANCES,
                     gettext_noop("Ask the designer; steep surfaces shed water."), unit="%", least=0.0, most=5.0,
                     each="place")  # fmt: skip


_FLATTEN = MappingProxyType(
    {
        SurfaceType.PICP: gettext_noop("Lift and relay the units there before acceptance."),
        SurfaceType.CLAY: gettext_noop("Lift and relay the units there before acceptance."),
        SurfaceType.RESIN_JOINT: gettext_noop("Lift and relay the units there before they are jointed."),
        SurfaceType.RESIN_BOUND: gettext_noop("Cut the course out there and lay it again before acceptance."),
        SurfaceType.PERVIOUS_CONCRETE: gettext_noop(
            "Ask the designer; grinding closes the voids, so a bad panel is recast."
        ),
        SurfaceType.POROUS_ASPHALT: gettext_noop(
            "Ask the designer; a bad stretch is milled and laid again before acceptance."
        ),
        SurfaceType.CONCRETE_GRID: gettext_noop("Lift and relay the units there before acceptance."),
        SurfaceType.PLASTIC_GRID: gettext_noop(
            "Take the panels up, level the bed and lay them again before filling."
        ),
    }
)


def flat_check(kind: SurfaceType, source: Source) -> Check:
    """Flatness under a straightedge; looked up for permeable pavers, our own default elsewhere."""
    return Check("flatness", Stage.FINISH, gettext_noop("Surface under a {3 m|10 ft} straightedge."), source,
                 _FLATTEN[kind], unit="mm", least=-10.0, most=10.0, least_us=-3 / 8, most_us=3 / 8,
                 each="place")  # fmt: skip


UNIT_FINISH = (
    Check("lippage", Stage.FINISH, gettext_noop("Lippage between units."), src.TOLERANCES,
          gettext_noop("Lift and reset the unit."), unit="mm", most=3.0, most_us=1 / 8, each="joint"),
    Check("lippage_at_basins", Stage.FINISH,
          gettext_noop("Height of units above basins and collars on accessible routes."), src.TOLERANCES,
          gettext_noop("Reset the units or the frame; up to {10 mm|3/8 in} off accessible routes."), unit="mm",
          least=3.0, most=6.0, least_us=1 / 8, most_us=1 / 4, each=gettext_noop("frame")),
    _SLOPE_UNITS,
)  # fmt: skip
SLOPE = (_SLOPE,)
OPENINGS = Check("openings", Stage.FINISH, gettext_noop("Widest opening on accessible routes."), src.ACCESS,
                 gettext_noop("Fill it higher or choose another unit for the route."), unit="mm", most=13.0,
                 most_us=1 / 2, each="joint")  # fmt: skip

ACCEPTANCE = (
    Check("surface_clean", Stage.ACCEPTANCE,
          gettext_noop("The surface is swept; soil and stockpiles beside it are covered."), src.PRACTICE,
          gettext_noop("Clean it first; a test on dirt shows the dirt.")),
    Check("acceptance_spots", Stage.ACCEPTANCE, gettext_noop("Spots tested, against the number the area asks for."),
          src.RING_TEST, gettext_noop("Test the missing spots."), unit="spots", least=0.0, against_design=True,
          hold_point=True),
    Check("acceptance_rate", Stage.ACCEPTANCE, gettext_noop("Mean rate of the surface, against the acceptance rate."),
          src.RING_TEST, gettext_noop("Find the cause, clean or correct, and test again before handing over."),
          unit="mm/h", least=0.0, against_design=True, hold_point=True),
)  # fmt: skip
