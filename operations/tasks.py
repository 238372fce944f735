"""What the server does for itself by the clock."""

from celery import shared_task
from django.utils.timezone import now

from operations.calc.signs import SignOf
from operations.services import failure_notices, signs, statistics


@shared_task
def note_clock() -> None:
    """Every minute: a sign that the clock goes and that somebody does what it asks."""
    signs.note(SignOf.CLOCK)


@shared_task
def tell_failures() -> int:
    """Some times an hour: work in the background that failed."""
    return failure_notices.tell_failures(now())


@shared_task
def renew_statistics() -> None:
    """Every hour: what the embedded database knows of its tables."""
    statistics.renew_statistics()
