"""What the server does for itself by the clock."""

from celery import shared_task

from operations.calc.signs import SignOf
from operations.services import signs


@shared_task
def note_clock() -> None:
    """Every minute: a sign that the clock goes and that somebody does what it asks."""
    signs.note(SignOf.CLOCK)
