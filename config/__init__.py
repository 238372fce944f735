import os

# Before numpy is first imported: the model's many small matrices lose to threads that fight over cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from config.celery import app as celery_app

__all__ = ["celery_app"]
