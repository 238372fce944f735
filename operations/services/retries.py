"""Trying failed jobs again because somebody who administers the firm says so."""

import logging
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.errors import AlreadyDoneError
from core.services import jobs
from operations.calc.job_kinds import JobKind
from operations.selectors.jobs import repeatable, rows_of

log = logging.getLogger(__name__)

NOT_FAILED = gettext_noop(
    "This is not tried again: it is at work or done by now, or its file is gone, "
    "or trying again could send a mail twice."
)


@transaction.atomic
def try_again(*, kind: JobKind, pk: UUID) -> None:
    """Have a failed job done anew. Raises AlreadyDoneError where it is none that may be.

    One conditional update decides: of two who press at once, one has it done.
    """
    rows: Any = rows_of(kind)
    if not jobs.requeue(rows.filter(repeatable(kind), pk=pk)):
        raise AlreadyDoneError(_(NOT_FAILED))
    again = rows.filter(pk=pk)
    again.update(error="", **({"due_at": now(), "failures": 0} if kind.is_mail else {}))
    jobs.nudge(again.defer(*again.model.BULKY).get())
    log.info("%s %s is tried again because somebody asked for it", kind.label, pk)
