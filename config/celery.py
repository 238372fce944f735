"""The Celery app; its beat follows the same timetable as the scheduler beside the server."""

import logging.config
import os
from typing import Any

from celery import Celery
from celery.schedules import BaseSchedule, crontab, schedule
from celery.signals import setup_logging
from django.conf import settings
from django_structlog.celery.steps import DjangoStructLogInitStep

from operations.calc.timetable import TIMETABLE, Entry

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("rainthrough", task_cls="core.services.background:BackgroundTask")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.steps["worker"].add(DjangoStructLogInitStep)


@setup_logging.connect
def write_as_everywhere(**_: Any) -> None:
    """Keep to the lines of the settings: Celery would put its own, which mask no secret, in their place."""
    logging.config.dictConfig(settings.LOGGING)


def schedule_of(entry: Entry) -> BaseSchedule:
    """When beat sends the task of an entry; times are UTC, as Celery's are by itself."""
    if entry.at is not None:
        return crontab(hour=entry.at.hour, minute=entry.at.minute)
    return schedule(entry.every)


app.conf.beat_schedule = {
    entry.name: {"task": entry.task, "schedule": schedule_of(entry)} for entry in TIMETABLE
}
