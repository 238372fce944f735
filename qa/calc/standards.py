"""Which standard the ring test on a surface is named by: each is written for some kinds of paving only."""

from core.calc.paving import SurfaceType
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from qa.calc.sources import Source, SourceStatus, from_memory

# Scopes, looked up: C1701/C1701M in-place pervious concrete; C1781/C1781M solid interlocking concrete units, concrete
# grid units, clay paving brick; "functionally identical", with comparable results. The procedure itself is from memory.
_UNITS = frozenset({SurfaceType.PICP, SurfaceType.CLAY, SurfaceType.CONCRETE_GRID})

PERVIOUS_CONCRETE = from_memory(gettext_noop("ASTM C1701/C1701M, written for in-place pervious concrete"))
UNIT_PAVEMENT = from_memory(
    gettext_noop("ASTM C1781/C1781M, written for unit pavers, concrete grids and clay pavers")
)
POROUS_ASPHALT = Source(
    gettext_noop("ASTM C1701/C1701M, written for pervious concrete; on porous asphalt by common use"),
    SourceStatus.FROM_MEMORY,
)
BY_THE_METHOD = Source(
    gettext_noop(
        "By the method of ASTM C1701/C1701M and C1781/C1781M, neither of which is written for this kind of surface"
    ),
    SourceStatus.FROM_MEMORY,
)


def ring_standard(surface_type: str) -> Source:
    """The standard of the ring test on a kind of surface, or whose method it follows where none is written for it.

    Source: scopes of ASTM C1701/C1701M and C1781/C1781M (looked up); use on porous asphalt is common practice.
    """
    if surface_type == SurfaceType.PERVIOUS_CONCRETE:
        return PERVIOUS_CONCRETE
    if surface_type == SurfaceType.POROUS_ASPHALT:
        return POROUS_ASPHALT
    return UNIT_PAVEMENT if surface_type in _UNITS else BY_THE_METHOD


def ring_name(surface_type: str) -> str:
    """The same in a few words, to begin a citation with."""
    if surface_type in (SurfaceType.PERVIOUS_CONCRETE, SurfaceType.POROUS_ASPHALT):
        return "ASTM C1701/C1701M"
    if surface_type in _UNITS:
        return "ASTM C1781/C1781M"
    return _("Method of ASTM C1701/C1701M and C1781/C1781M")
