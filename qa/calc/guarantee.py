"""The term of a guarantee."""

from datetime import date

from core.calc.months import months_after


def guarantee_end(starts_on: date, months: int | None) -> date | None:
    """The last day of a guarantee of so many months; None where none is recorded."""
    return None if months is None else months_after(starts_on, months)
