"""Stone sizes by what the trade calls them, beside their number.

Sources: 50 mm clear is about No. 2 or 3, 19 mm clear about No. 57, 6 to 9 mm clear ("high performance bedding") about
No. 8 (Ontario practice, from memory); the others by their largest size, common practice, no source. A name is no
grading: what counts is the sieve analysis.
"""

from types import MappingProxyType

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop

_COMMON = MappingProxyType(
    {
        "2": gettext_noop("{50 mm|2 in} clear crushed"),
        "3": gettext_noop("{40 to 50 mm|1 1/2 to 2 in} clear crushed"),
        "4": gettext_noop("{40 mm|1 1/2 in} clear crushed"),
        "5": gettext_noop("{25 mm|1 in} clear crushed"),
        "57": gettext_noop("{19 mm|3/4 in} clear crushed"),
        "67": gettext_noop("{19 mm|3/4 in} clear crushed, small"),
        "78": gettext_noop("{12 mm|1/2 in} clear chip"),
        "8": gettext_noop("{9 mm|3/8 in} clear chip"),
        "89": gettext_noop("{9 mm|3/8 in} chip, small"),
        "9": gettext_noop("{5 mm|3/16 in} chip"),
    }
)


def common_name(designation: str) -> str:
    """What a size is called, with its pair of sizes; empty for one that has no such name."""
    return _(_COMMON.get(designation, ""))
