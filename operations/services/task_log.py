"""Which lines of the log belong to which task, and to the request that set it going.

With a broker django-structlog carries the ids to the worker. Without one a task runs in the process that asks for it:
where that is within a request its ids stand beside those of the request, and go when it ends.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Any

import structlog
from celery.signals import task_postrun, task_prerun
from django_structlog.celery.signals import bind_extra_task_metadata, modify_context_before_task_publish

from core.services import log_context

JOB_TASK = "core.tasks.run_job"

log = structlog.stdlib.get_logger(__name__)


def connect() -> None:
    """Have every task named, however it is run. Called once, when the app starts."""
    modify_context_before_task_publish.connect(_send_ids_alone, dispatch_uid="operations.send_ids")
    bind_extra_task_metadata.connect(_name_task, dispatch_uid="operations.name_task")
    task_prerun.connect(_begin_here, dispatch_uid="operations.begin_here")
    task_postrun.connect(_end_here, dispatch_uid="operations.end_here")


@contextmanager
def named(task: str) -> Iterator[None]:
    """What is done within is the task, under an id of its own; it has a line at its end."""
    begun_s = monotonic()
    with structlog.contextvars.bound_contextvars(task=task, task_id=log_context.new_id()):
        try:
            yield
        except BaseException:
            _say_end("failed", begun_s)
            raise
        _say_end("succeeded", begun_s)


def _send_ids_alone(sender: Any, context: dict[str, Any], **_: Any) -> None:
    for name in set(context) - log_context.WITH_TASKS:
        del context[name]


def _name_task(sender: Any, task: Any, **_: Any) -> None:
    structlog.contextvars.bind_contextvars(**_names_of(task))


def _names_of(task: Any) -> dict[str, Any]:
    names = {"task": task.name}
    if task.name == JOB_TASK:
        names["job"] = " ".join(str(word) for word in task.request.args or ())
    return names


def _begin_here(task_id: str, task: Any, **_: Any) -> None:
    if task.request.is_eager:
        tokens = structlog.contextvars.bind_contextvars(task_id=task_id, **_names_of(task))
        task.request.log_ends = _ending(tokens)


def _end_here(task: Any, state: str | None = None, **_: Any) -> None:
    if task.request.is_eager:
        task.request.log_ends((state or "failed").lower())


def _ending(tokens: Any) -> Callable[[str], None]:
    begun_s = monotonic()

    def end(status: str) -> None:
        _say_end("succeeded" if status == "success" else "failed", begun_s)
        structlog.contextvars.reset_contextvars(**tokens)

    return end


def _say_end(status: str, begun_s: float) -> None:
    write = log.info if status == "succeeded" else log.warning
    write(f"task_{status}", duration_ms=round(1000 * (monotonic() - begun_s)))
