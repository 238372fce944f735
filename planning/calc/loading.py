"""What a crew takes along for its work: equipment by kind of work (common practice, no source), and water for tests."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from maintenance.calc.vocabulary import Action
from qa.calc.ring import PROCEDURES

_SAFETY = ("Signs, cones and barriers", "Eye and hearing protection, gloves, dust masks")
_LOOK = ("Camera", "Tape and straightedge")
EQUIPMENT: Mapping[Action, tuple[str, ...]] = {
    Action.TEST: (
        "Ring with marks, seal for it",
        "Containers for the water, scale",
        "Stopwatch",
        "Thermometer",
        "Broom for the spots",
    ),
    Action.INSPECT: _LOOK,
    Action.LOOK: _LOOK,
    Action.SOURCE: (*_LOOK, "Shovel, filter socks or straw for a quick stop"),
    Action.REPAIR: (
        "Hand tools for units and edges",
        "Bedding and joint stone as specified",
        "Tape and straightedge",
    ),
    Action.TOP_UP: ("Joint stone as specified", "Brooms, shovels", "Plate compactor with a pad"),
}
MACHINES: Mapping[CleaningMethod, tuple[str, ...]] = {
    CleaningMethod.BROOM: ("Broom or blower", "Bags for leaves"),
    CleaningMethod.REGEN_AIR: ("Regenerative-air sweeper",),
    CleaningMethod.VACUUM: ("Vacuum sweeper",),
    CleaningMethod.WASH_VACUUM: ("Pressure washer with suction", "Tank for the dirty water"),
    CleaningMethod.JOINT_REFILL: (
        "Joint vacuum or air lance with suction",
        "Plate compactor with a pad",
        "Brooms",
    ),
    CleaningMethod.REJOINT_RESIN: (
        "Pressure washer",
        "Mixer, squeegees and soft brooms",
        "Sheets against rain",
    ),
    CleaningMethod.MILL: ("Milling machine with dust suction", "Paving equipment"),
    CleaningMethod.RELAY: ("Unit lifter", "Screed rails, plate compactor", "Bedding and base stone"),
}


class Water(NamedTuple):
    """Water for a round of ring tests, in kg, which are litres: if the first pour is slow everywhere, and if fast."""

    least_kg: float
    most_kg: float


def equipment_for(work: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Each thing once, in the order of the work. work: action and, of a cleaning, method."""
    found: list[str] = []
    for action, method in work:
        found += MACHINES[CleaningMethod(method)] if method else EQUIPMENT.get(Action(action), ())
    return tuple(dict.fromkeys([*found, *_SAFETY] if found else ()))


def water_for(spots: int) -> Water:
    """Water for the ring test at so many spots: to wet each, and for one test there of the small or the large mass.

    Source: ASTM C1701/C1701M and C1781/C1781M, masses by `qa.calc.ring` (from memory).
    """
    ring = PROCEDURES[UnitSystem.SI]
    return Water(spots * (ring.small_mass + ring.small_mass), spots * (ring.small_mass + ring.large_mass))
