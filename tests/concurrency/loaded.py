"""All that a worker loads before it is ready; imported in the process that forks workers, and in each of them.

Nothing here opens a connection or starts a thread: neither would outlive a fork.
"""

import gc
import os

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
django.setup()

from django.core.checks import run_checks  # noqa: E402

from config.celery import app  # noqa: E402
from maintenance.selectors import care  # noqa: E402
from tests.once import COMPARISONS, remembered  # noqa: E402

app.loader.import_default_modules()
for name in COMPARISONS:  # a story asks who did the work and how often: its surfaces are all alike
    setattr(care, name, remembered(getattr(care, name)))
run_checks()  # reads the addresses and all that stands behind them
gc.collect()
gc.freeze()
