"""What became of something recorded, which is never overwritten."""

from core.calc.choices import TextChoice


class AuditState(TextChoice):
    """Only what is ACTIVE counts for results and forecasts."""

    ACTIVE = "active", "Recorded"
    REPLACED = "replaced", "Replaced by a correction"
    VOID = "void", "Set aside"
