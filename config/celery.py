"""The Celery app and its periodic schedule."""

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("rainthrough")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

app.conf.beat_schedule = {
    "fit every portfolio at night": {
        "task": "maintenance.tasks.fit_all_portfolios",
        "schedule": crontab(hour=2, minute=30),
    },
    "send again what was left": {"task": "maintenance.tasks.sweep", "schedule": 300.0},
    "bring forecasts to today": {
        "task": "maintenance.tasks.refresh_all",
        "schedule": crontab(hour=3, minute=30),
    },
}
