"""The periodic schedule and the way tasks are delivered."""

import pytest

from config.celery import app
from maintenance.services import fits


@pytest.mark.parametrize("entry", sorted(app.conf.beat_schedule))
def test_every_entry_of_the_schedule_names_a_task(entry):
    app.loader.import_default_modules()

    assert app.conf.beat_schedule[entry]["task"] in app.tasks


def test_a_task_that_dies_is_delivered_again():
    assert app.conf.task_acks_late
    assert app.conf.task_reject_on_worker_lost


def test_no_task_may_run_as_long_as_its_lease_or_its_delivery():

    limit_s = app.conf.task_time_limit

    assert limit_s < fits.LEASE.total_seconds()
    assert limit_s < app.conf.broker_transport_options["visibility_timeout"]
