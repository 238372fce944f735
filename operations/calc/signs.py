"""What a server gives a sign of, and how long none may be seen before somebody should look."""

from datetime import datetime, timedelta

from core.calc.choices import TextChoice


class SignOf(TextChoice):
    """What happened last at a time that is kept."""

    CLOCK = "clock", "The periodic work"
    BACKUP = "backup", "A backup"


# The scheduler does one thing after another, and a night's work of one machine may take this long. Common practice.
CLOCK_SILENT_AFTER = timedelta(minutes=15)
# A backup a night, and some hours for a night that began late. Common practice, as the guide for who watches has it.
BACKUP_MISSING_AFTER = timedelta(hours=28)


def is_silent(seen_at: datetime | None, at: datetime) -> bool:
    """Whether the clock has not been heard of for longer than its longest work takes. Times in UTC."""
    return seen_at is None or at - seen_at > CLOCK_SILENT_AFTER
