"""Which way of cleaning suits which surface, and what to mind.

Sources: mechanical brooms grind fines into porous concrete and asphalt, wash then suction works best
there, disturbing the joint stone is what helps pavers: Danz, Selbig & Buer 2020, Water 12:1563; milling
restored porous asphalt, and no source covers it on anything else: Winston et al. 2016, J. Environ. Manage.
169:132; lifting as last resort and regenerative air only when dry: Simpson et al. 2021, J. Environ. Manage.
294:112990, and the Ontario low impact development guide. Resin surfaces and grids: common practice, no source.

Joints are refilled where there are joints, units are lifted where there are units.
"""

from core.calc.paving import CleaningMethod, SurfaceType
from core.calc.translation import gettext_noop

_M = CleaningMethod
ROUTINE = (_M.BROOM, _M.REGEN_AIR, _M.VACUUM, _M.WASH_VACUUM)
RESTORING = tuple(method for method in CleaningMethod if method not in ROUTINE)

_PAVERS = (*ROUTINE, _M.JOINT_REFILL, _M.RELAY)
_POROUS = (_M.REGEN_AIR, _M.VACUUM, _M.WASH_VACUUM)

SUITED: dict[SurfaceType, tuple[CleaningMethod, ...]] = {
    SurfaceType.PICP: _PAVERS,
    SurfaceType.CLAY: _PAVERS,
    SurfaceType.RESIN_JOINT: (_M.BROOM, _M.VACUUM, _M.WASH_VACUUM, _M.REJOINT_RESIN, _M.RELAY),
    SurfaceType.RESIN_BOUND: (_M.BROOM, _M.VACUUM, _M.WASH_VACUUM),
    SurfaceType.PERVIOUS_CONCRETE: _POROUS,
    SurfaceType.POROUS_ASPHALT: (*_POROUS, _M.MILL),
    SurfaceType.CONCRETE_GRID: (_M.BROOM, _M.VACUUM, _M.JOINT_REFILL, _M.RELAY),
    SurfaceType.PLASTIC_GRID: (_M.BROOM, _M.JOINT_REFILL, _M.RELAY),
    SurfaceType.GRAVEL: (_M.BROOM,),  # suction takes loose stone with it
}

CARE: dict[CleaningMethod, str] = {  # looked up where it is shown
    _M.BROOM: gettext_noop(
        "Removes leaves and loose dirt before it is ground in; it does not reopen clogged joints."
    ),
    _M.REGEN_AIR: gettext_noop(
        "Only on a dry surface: in wet weather it made paver joints worse in a published test."
    ),
    _M.VACUUM: gettext_noop(
        "Dry surface, water sprays and gutter brooms off, so that fines are not pushed down."
    ),
    _M.WASH_VACUUM: gettext_noop(
        "Low angle, wide fan, moderate pressure, suction close behind; catch the water, it may be "
        "controlled waste. Refill joints afterwards."
    ),
    _M.JOINT_REFILL: gettext_noop(
        "Refill with the same gradation as specified; record what was taken out and put in."
    ),
    _M.REJOINT_RESIN: gettext_noop(
        "Pre-wet, keep dry for 24 hours, firm for feet after 24 hours. Follow the data sheet."
    ),
    _M.MILL: gettext_noop("Cutting makes silica dust: suction and masks. Locate utilities first."),
    _M.RELAY: gettext_noop(
        "Locate utilities before lifting. Replace bedding, joint fill and the top 50 mm (2 in) of the base."
    ),
}


def possible_methods(surface_type: str) -> tuple[CleaningMethod, ...]:
    """Methods that can have been done on a surface type: those that suit, then sweeping and washing that do not."""
    suited = suited_methods(surface_type)
    return (*suited, *(method for method in ROUTINE if method not in suited))


def suited_methods(surface_type: str) -> tuple[CleaningMethod, ...]:
    """Methods for a surface type, gentlest first. Raises ValueError for an unknown type."""
    return SUITED[SurfaceType(surface_type)]
