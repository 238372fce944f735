"""The way tasks are delivered."""

from datetime import timedelta

import pytest

from config.celery import app
from core.models.jobs import Job
from core.services import jobs
from operations.calc.timetable import TIMETABLE
from tests.test_architecture import our_models

JOBS = [model for model in our_models() if issubclass(model, Job)]


def test_a_task_that_dies_is_delivered_again():
    assert app.conf.task_acks_late
    assert app.conf.task_reject_on_worker_lost


def test_no_task_may_run_as_long_as_its_delivery_waits():
    assert app.conf.task_time_limit < app.conf.broker_transport_options["visibility_timeout"]


# One transaction each, in which nobody else writes on SQLite: their own heartbeat waits as long as that takes.
STORES_AT_ONCE = {"exchange.DataImport", "exchange.DataExport", "exchange.Restoration"}


@pytest.mark.parametrize("model", JOBS)
def test_a_job_is_not_held_longer_than_its_task_may_run(model):
    """Else a worker that is ended for taking too long would be followed late."""
    assert model.TIME_LIMIT.total_seconds() <= app.conf.task_time_limit
    assert model.LEASE * 2 <= model.TIME_LIMIT


@pytest.mark.parametrize("model", JOBS)
def test_every_job_has_its_work(model):
    assert model._meta.label in jobs._KINDS


@pytest.mark.parametrize("model", JOBS)
def test_what_a_killed_worker_held_is_found_again_soon(model):
    (sweep,) = [entry for entry in TIMETABLE if entry.task == "core.tasks.sweep"]

    most = timedelta(minutes=6) if model._meta.label in STORES_AT_ONCE else timedelta(minutes=2)
    assert model.LEASE + sweep.every <= most
