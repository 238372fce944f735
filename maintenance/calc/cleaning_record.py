"""What a record of each way of cleaning holds beyond its day and its area.

Which figure belongs to which way: common practice, no source. Passes are counted where a machine drives over the
surface; a depth where joint material comes out; a pressure where water or air is blown at the joints.
"""

from collections.abc import Mapping
from types import MappingProxyType

from core.calc.paving import CleaningMethod

_M = CleaningMethod

ASKED_BY: Mapping[str, frozenset[CleaningMethod]] = MappingProxyType(
    {
        "passes": frozenset({_M.BROOM, _M.REGEN_AIR, _M.VACUUM, _M.WASH_VACUUM, _M.MILL}),
        "depth_out_mm": frozenset({_M.VACUUM, _M.WASH_VACUUM, _M.JOINT_REFILL, _M.REJOINT_RESIN}),
        "pressure_bar": frozenset({_M.WASH_VACUUM, _M.JOINT_REFILL, _M.REJOINT_RESIN}),
    }
)


def not_asked(method: CleaningMethod, given: Mapping[str, object]) -> tuple[str, ...]:
    """Names of what was given though the way of cleaning has none of it."""
    return tuple(
        name for name, methods in ASKED_BY.items() if given.get(name) is not None and method not in methods
    )
