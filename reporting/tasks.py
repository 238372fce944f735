"""Background work of this app that the clock asks for. The mails themselves are jobs, delivered by `core.tasks`."""

from celery import shared_task
from django.utils.timezone import now

from reporting.services import due_reports, notices


@shared_task
def propose_reports() -> int:
    """Every hour, as days begin at other times elsewhere: reports that agreements ask for."""
    return due_reports.propose_reports(now())


@shared_task
def tell_ending_links() -> int:
    """Each night: links that end soon."""
    return notices.tell_ending_links(now())
