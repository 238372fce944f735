"""One search finds a request and the tasks that it set going, with and without a broker."""

import logging

import pytest
import structlog
from celery import shared_task
from django.apps import apps
from django_structlog.celery.receivers import CeleryReceiver

from config.celery import app
from core.services import log_context
from operations.services import task_log
from operations.services.scheduler import run_task

seen = []


@shared_task(name="tests.look")
def look(label="", pk=""):
    seen.append(structlog.contextvars.get_contextvars())


@shared_task(name="tests.outer")
def outer():
    look.delay()
    seen.append(structlog.contextvars.get_contextvars())


@shared_task(name="tests.fails")
def fails():
    raise ValueError("no luck")


@pytest.fixture(autouse=True)
def in_a_request():
    seen.clear()
    log_context.begin_request("the-request-1")
    log_context.name_person(7, "firm")
    yield
    structlog.contextvars.clear_contextvars()


@pytest.fixture
def lines(caplog):
    caplog.set_level(logging.INFO)
    return lambda: [r.msg for r in caplog.records if r.name == "operations.services.task_log"]


def test_without_a_broker_a_task_has_the_ids_of_the_request_and_its_own():
    look.delay()

    (told,) = seen
    assert (told["request_id"], told["person_id"], told["firm_id"]) == ("the-request-1", 7, "firm")
    assert told["task"] == "tests.look"
    assert told["task_id"]


def test_afterwards_the_request_goes_on_without_those_of_the_task():
    look.delay()

    assert structlog.contextvars.get_contextvars() == {
        "request_id": "the-request-1", "person_id": 7, "firm_id": "firm"
    }  # fmt: skip


def test_a_task_within_a_task_leaves_it_its_own_ids():
    outer.delay()

    inner, outside = seen
    assert (inner["task"], outside["task"]) == ("tests.look", "tests.outer")
    assert inner["task_id"] != outside["task_id"]


def test_the_end_of_a_task_is_a_line_with_its_duration(lines):
    look.delay()

    (line,) = lines()
    assert line["event"] == "task_succeeded"
    assert line["task"] == "tests.look"
    assert line["request_id"] == "the-request-1"
    assert line["duration_ms"] >= 0


def test_a_task_that_fails_is_told_as_failed_and_leaves_no_id(lines):
    with pytest.raises(ValueError, match="no luck"):
        fails.apply(throw=True)

    assert lines()[-1]["event"] == "task_failed"
    assert "task_id" not in structlog.contextvars.get_contextvars()


def test_a_job_is_named_by_its_model_and_id(monkeypatch):
    monkeypatch.setattr(task_log, "JOB_TASK", "tests.look")

    look.delay("planning.WorkPlan", "0b5e")

    assert seen[0]["job"] == "planning.WorkPlan 0b5e"


def test_what_the_clock_asks_for_has_an_id_and_a_line(lines):
    structlog.contextvars.clear_contextvars()

    run_task("tests.look")

    (told,), (line,) = seen, lines()
    assert told["task"] == line["task"] == "tests.look"
    assert told["task_id"] == line["task_id"]
    assert structlog.contextvars.get_contextvars() == {}


def test_what_the_clock_asks_for_and_fails_is_told(lines):
    with pytest.raises(ValueError, match="no luck"):
        run_task("tests.fails")

    assert lines()[-1]["event"] == "task_failed"


def sent_with_a_task():
    """What goes to the broker with a task in its headers."""
    structlog.contextvars.bind_contextvars(duration_ms=3, task_id="the-parent", job="x")
    headers = {}
    CeleryReceiver().receiver_before_task_publish(headers=headers, properties={})
    return headers["__django_structlog__"]


def test_with_a_broker_ids_go_with_the_task_and_nothing_else():
    assert sent_with_a_task() == {
        "request_id": "the-request-1", "person_id": 7, "firm_id": "firm", "parent_task_id": "the-parent"
    }  # fmt: skip


def test_a_worker_takes_them_up(monkeypatch):
    sent = sent_with_a_task()
    receiver = CeleryReceiver()
    look.push_request(id="t-1", is_eager=False, args=("a", "b"), __django_structlog__=sent)
    try:
        receiver.receiver_task_prerun(task_id="t-1", task=look)
        told = structlog.contextvars.get_contextvars()
    finally:
        look.pop_request()

    assert told == sent | {"task_id": "t-1", "task": "tests.look"}


def test_requests_send_them_and_workers_read_them_in_this_very_app():
    assert apps.get_app_config("django_structlog")._celery_receiver
    assert "DjangoStructLogInitStep" in {step.__name__ for step in app.steps["worker"]}
