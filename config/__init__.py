import gc
import os

# Before numpy is first imported: the model's many small matrices lose to threads that fight over cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from config.celery import app as celery_app

# What a start loads stays, some 300,000 objects: to look through them after every 700 takes a sixth of the start.
gc.set_threshold(20_000)

__all__ = ["celery_app"]
