"""Lists of choices about work that is planned."""

from core.calc.choices import TextChoice


class VisitStatus(TextChoice):
    """How a visit stands."""

    SCHEDULED = "scheduled", "Scheduled"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"


class ReleaseShown(TextChoice):
    """Which advice is listed, by what its owner was shown."""

    NOT_RELEASED = "not_released", "Not released"
    RELEASED = "released", "Released to the owner"
    CHANGED = "changed", "Changed since its release"
