"""Which way of cleaning suits which surface, and what to mind.

Sources: mechanical brooms grind fines into porous concrete and asphalt, wash then suction works best
there, disturbing the joint stone is what helps pavers: Danz, Selbig & Buer 2020, Water 12:1563; milling
restored porous asphalt: Winston et al. 2016, J. Environ. Manage. 169:132; lifting as last resort and
regenerative air only when dry: Simpson et al. 2021, J. Environ. Manage. 294:112990, and the Ontario
low impact development guide. Resin surfaces and grids: common practice, no source.
"""

ROUTINE = ("broom", "regen_air", "vacuum", "wash_vacuum")
RESTORING = ("joint_refill", "rejoint_resin", "mill", "relay")

_PAVERS = ("broom", "regen_air", "vacuum", "wash_vacuum", "joint_refill", "relay")

SUITED: dict[str, tuple[str, ...]] = {
    "picp": _PAVERS,
    "clay": _PAVERS,
    "resin_joint": ("broom", "vacuum", "wash_vacuum", "rejoint_resin", "relay"),
    "resin_bound": ("broom", "vacuum", "wash_vacuum", "mill"),
    "pervious_concrete": ("regen_air", "vacuum", "wash_vacuum", "mill"),
    "porous_asphalt": ("regen_air", "vacuum", "wash_vacuum", "mill"),
    "concrete_grid": ("broom", "vacuum", "joint_refill", "relay"),
    "plastic_grid": ("broom", "joint_refill", "relay"),
    "gravel": ("broom", "joint_refill", "relay"),
}

CARE = {
    "broom": "Removes leaves and loose dirt before it is ground in; it does not reopen clogged joints.",
    "regen_air": "Only on a dry surface: in wet weather it made paver joints worse in a published test.",
    "vacuum": "Dry surface, water sprays and gutter brooms off, so that fines are not pushed down.",
    "wash_vacuum": "Low angle, wide fan, moderate pressure, suction close behind; catch the water, it may be "
    "controlled waste. Refill joints afterwards.",
    "joint_refill": "Refill with the same gradation as specified; record what was taken out and put in.",
    "rejoint_resin": "Pre-wet, keep dry for 24 hours, firm for feet after 24 hours. Follow the data sheet.",
    "mill": "Cutting makes silica dust: suction and masks. Locate utilities first.",
    "relay": "Locate utilities before lifting. Replace bedding, joint fill and the top 50 mm of the base.",
}


def suited_methods(surface_type: str) -> tuple[str, ...]:
    """Methods for a surface type, gentlest first. Raises KeyError for an unknown type."""
    return SUITED[surface_type]
