"""Lists of choices about work that is planned."""

from core.calc.choices import TextChoice


class VisitStatus(TextChoice):
    """How a visit stands."""

    SCHEDULED = "scheduled", "Scheduled"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"
