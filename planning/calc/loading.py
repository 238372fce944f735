"""What a crew takes along for its work: equipment by kind of work (common practice, no source), and water for tests."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from core.calc.paving import CleaningMethod
from core.calc.translation import gettext, gettext_noop
from core.calc.units import UnitSystem
from maintenance.calc.vocabulary import Action
from qa.calc.ring import PROCEDURES

_SAFETY = (
    gettext_noop("Signs, cones and barriers"),
    gettext_noop("Eye and hearing protection, gloves, dust masks"),
)
_LOOK = (gettext_noop("Camera"), gettext_noop("Tape and straightedge"))
EQUIPMENT: Mapping[Action, tuple[str, ...]] = {
    Action.TEST: (
        gettext_noop("Ring with marks, seal for it"),
        gettext_noop("Containers for the water, scale"),
        gettext_noop("Stopwatch"),
        gettext_noop("Thermometer"),
        gettext_noop("Broom for the spots"),
    ),
    Action.INSPECT: _LOOK,
    Action.LOOK: _LOOK,
    Action.SOURCE: (*_LOOK, gettext_noop("Shovel, filter socks or straw for a quick stop")),
    Action.REPAIR: (
        gettext_noop("Hand tools for units and edges"),
        gettext_noop("Bedding and joint stone as specified"),
        gettext_noop("Tape and straightedge"),
    ),
    Action.TOP_UP: (
        gettext_noop("Joint stone as specified"),
        gettext_noop("Brooms, shovels"),
        gettext_noop("Plate compactor with a pad"),
    ),
}
MACHINES: Mapping[CleaningMethod, tuple[str, ...]] = {
    CleaningMethod.BROOM: (gettext_noop("Broom or blower"), gettext_noop("Bags for leaves")),
    CleaningMethod.REGEN_AIR: (gettext_noop("Regenerative-air sweeper"),),
    CleaningMethod.VACUUM: (gettext_noop("Vacuum sweeper"),),
    CleaningMethod.WASH_VACUUM: (
        gettext_noop("Pressure washer with suction"),
        gettext_noop("Tank for the dirty water"),
    ),
    CleaningMethod.JOINT_REFILL: (
        gettext_noop("Joint vacuum or air lance with suction"),
        gettext_noop("Plate compactor with a pad"),
        gettext_noop("Brooms"),
    ),
    CleaningMethod.REJOINT_RESIN: (
        gettext_noop("Pressure washer"),
        gettext_noop("Mixer, squeegees and soft brooms"),
        gettext_noop("Sheets against rain"),
    ),
    CleaningMethod.MILL: (
        gettext_noop("Milling machine with dust suction"),
        gettext_noop("Paving equipment"),
    ),
    CleaningMethod.RELAY: (
        gettext_noop("Unit lifter"),
        gettext_noop("Screed rails, plate compactor"),
        gettext_noop("Bedding and base stone"),
    ),
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
    once = dict.fromkeys([*found, *_SAFETY] if found else ())
    return tuple(gettext(thing) for thing in once)


def water_for(spots: int) -> Water:
    """Water for the ring test at so many spots: to wet each, and for one test there of the small or the large mass.

    Source: ASTM C1701/C1701M and C1781/C1781M, masses by `qa.calc.ring` (from memory).
    """
    ring = PROCEDURES[UnitSystem.SI]
    return Water(spots * (ring.small_mass + ring.small_mass), spots * (ring.small_mass + ring.large_mass))
