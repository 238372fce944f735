"""Words of the trade that the records and the clogging model share: what lies there, what is done to it.

`qa` and `clogging` know nothing of one another, and `clogging` knows no app at all; so what both name lies in the
room below them. The model takes the plain words, the records show the labels.
"""

from core.calc.choices import NumberChoice, TextChoice


class SurfaceType(TextChoice):
    """What the water goes through at the top."""

    PICP = "picp", "Permeable interlocking concrete pavers"
    CLAY = "clay", "Permeable clay pavers"
    RESIN_JOINT = "resin_joint", "Natural stone with permeable resin joints"
    RESIN_BOUND = "resin_bound", "Resin-bound aggregate"
    PERVIOUS_CONCRETE = "pervious_concrete", "Pervious concrete"
    POROUS_ASPHALT = "porous_asphalt", "Porous asphalt"
    CONCRETE_GRID = "concrete_grid", "Concrete grid"
    PLASTIC_GRID = "plastic_grid", "Plastic grid"
    GRAVEL = "gravel", "Open gravel"


class Traffic(NumberChoice):
    """What goes over it; each step wears it more."""

    FOOT = 0, "Feet and bicycles"
    CARS = 1, "Cars"
    HEAVY = 2, "Lorries and buses"


class TestMethod(TextChoice):
    """A way of testing a surface in the field, the ring first."""

    __test__ = False  # not a test class, whatever its name suggests to a test runner

    RING = "ring", "Constant-head single ring"
    FALLING_HEAD = "falling_head", "Falling-head standpipe"
    SQUARE_DOUBLE_RING = "square_double_ring", "Square double ring"
    FLOODING = "flooding", "Full-scale flooding"
    FRAME = "frame", "Simple wooden frame"
    SPREADING_AREA = "spreading_area", "Spreading area of a bucket"
    OUTFLOW_METER = "outflow_meter", "Outflow meter"


class CleaningMethod(TextChoice):
    """A way of cleaning, from the gentlest to a new surface."""

    BROOM = "broom", "Broom or blower (leaves)"
    REGEN_AIR = "regen_air", "Regenerative-air sweeping"
    VACUUM = "vacuum", "Vacuum sweeping"
    WASH_VACUUM = "wash_vacuum", "Pressure wash with vacuum"
    JOINT_REFILL = "joint_refill", "Joints emptied and refilled"
    REJOINT_RESIN = "rejoint_resin", "Re-jointing with resin"
    MILL = "mill", "Milling and replacing the top layer"
    RELAY = "relay", "Lifting and relaying"


class SourceChange(TextChoice):
    """What becomes of something that washes fines on to a surface."""

    STOPPED = "stopped", "A source was stopped"
    STARTED = "started", "A new source began"
