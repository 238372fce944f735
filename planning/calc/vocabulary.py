"""Lists of choices about work that is planned."""

from core.calc.choices import TextChoice


class VisitStatus(TextChoice):
    """How a visit stands."""

    SCHEDULED = "scheduled", "Scheduled"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"


class TaskOutcome(TextChoice):
    """How a task of a visit ended; empty while it is still to do."""

    DONE = "done", "Done"
    PART = "part", "Part done"
    NOT_DONE = "not_done", "Not done"
    GIVEN_UP = "given_up", "Not needed any more"


LEFT = (TaskOutcome.PART.value, TaskOutcome.NOT_DONE.value)  # of which something is left to do


class ReleaseShown(TextChoice):
    """Which advice is listed, by what its owner was shown."""

    NOT_RELEASED = "not_released", "Not released"
    RELEASED = "released", "Released to the owner"
    CHANGED = "changed", "Changed since its release"
