"""What every line of the log says of whom it is for: the ids of request, task, person and firm, and no names."""

import re
import secrets
from typing import Any

import structlog

# Without letters and digits that are taken for one another: people read it from a screen over the telephone.
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
_LENGTH = 12  # 31 ** 12 of them: two of one log are not the same
WELL_FORMED = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{7,63}", re.ASCII)

# What goes with a task to whoever does it, so that one search finds the request and all that it set going.
WITH_TASKS = frozenset({"request_id", "parent_task_id", "person_id", "firm_id"})


def new_id() -> str:
    """A short id that is not used twice."""
    return "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))


def begin_request(given: str) -> None:
    """Forget what the thread did before; from here on lines carry the given id, or a new one if it has not its form."""
    structlog.contextvars.clear_contextvars()
    structlog.contextvars.bind_contextvars(request_id=given if WELL_FORMED.fullmatch(given) else new_id())


def request_id() -> str:
    """The id of the request at hand; empty outside of one."""
    return str(structlog.contextvars.get_contextvars().get("request_id", ""))


def name_person(person_id: object, firm_id: object = None) -> None:
    """Have the lines that follow say who asks, and for which firm, by their ids."""
    told: dict[str, Any] = {"person_id": person_id}
    if firm_id is not None:
        told["firm_id"] = str(firm_id)
    structlog.contextvars.bind_contextvars(**told)
