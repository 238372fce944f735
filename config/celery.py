"""The Celery app; its beat follows the same timetable as the scheduler beside the server."""

import os

from celery import Celery
from celery.schedules import BaseSchedule, crontab, schedule

from operations.calc.timetable import TIMETABLE, Entry

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("rainthrough")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


def schedule_of(entry: Entry) -> BaseSchedule:
    """When beat sends the task of an entry; times are UTC, as Celery's are by itself."""
    if entry.at is not None:
        return crontab(hour=entry.at.hour, minute=entry.at.minute)
    return schedule(entry.every)


app.conf.beat_schedule = {
    entry.name: {"task": entry.task, "schedule": schedule_of(entry)} for entry in TIMETABLE
}
