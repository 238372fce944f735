"""Background work of this app that the clock asks for. The mails themselves are jobs, delivered by `core.tasks`."""

from celery import shared_task
from django.utils.timezone import now

from accounts.services import digests


@shared_task
def ask_for_digests() -> int:
    """Some times an hour, as people choose their hour and firms lie in other zones: daily mails that are due."""
    return digests.ask_for_digests(now())


@shared_task
def clear_old_notices() -> int:
    """Each night: notices and daily mails that nobody looks back at any more."""
    return digests.clear_old(now())
