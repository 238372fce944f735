"""What the server does for itself by the clock."""

from celery import shared_task
from django.utils.timezone import now

from operations.calc.signs import SignOf
from operations.services import failure_notices, nightly, signs, statistics


@shared_task
def note_clock() -> None:
    """Every minute: a sign that the clock goes and that somebody does what it asks."""
    signs.note(SignOf.CLOCK)


@shared_task
def back_up() -> None:
    """Each night, where a folder for backups is set; a day that has one gets no second."""
    nightly.back_up_nightly(now())


@shared_task
def tell_missing_backup() -> bool:
    """Every hour: that the backup of the night is missing, whatever the reason."""
    return nightly.tell_if_missing(now())


@shared_task
def tell_failures() -> int:
    """Some times an hour: work in the background that failed."""
    return failure_notices.tell_failures(now())


@shared_task
def renew_statistics() -> None:
    """Every hour: what the embedded database knows of its tables."""
    statistics.renew_statistics()
