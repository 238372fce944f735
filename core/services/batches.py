"""Jobs that come by the thousand, done some at a time: read in bulk, claimed in bulk, ended one by one.

Of a kind that has a quick way many are claimed, those that hardly need work are ended at once and together, some of the
others are worked off, and the rest is let go.

What a worker that dies had ended stays; of the rest the leases run out, and the sweep has them taken up again. An
attempt counts from when a job is begun, so that one which kills its worker does not use up those of its neighbours.
A batch belongs to whom the fewest jobs are being done for, then to whom they were done longest ago: so the batches of
many firms interleave, and a small one never waits for a large one.
"""

import logging
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from time import monotonic
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Count, F, Max, Q
from django.utils.timezone import now

from core.calc.jobs import JobState
from core.models.jobs import Job
from core.services.jobs import Claim, Kind, heartbeat, kind_of, this_process, work_on

log = logging.getLogger(__name__)

MOST = 20  # jobs
MOST_QUICK = 200  # jobs that are looked through for what can be ended at once
LONGEST_S = 10.0  # after that no further job is begun, so that somebody else's turn comes soon
_LONG_AGO = datetime.min.replace(tzinfo=UTC)


def run_batch(label: str) -> int:
    """Do some jobs of a kind, of whose turn it is; returns how many were begun, 0 where none is to be done."""
    kind = kind_of(label)
    held = _take_some(kind)
    if not held:
        return 0
    try:
        with heartbeat([claim for _, claim in held]):
            ended = _end_quick(kind, held)
            left = [(job, claim) for job, claim in held if claim.outcome is None]
            held = left[:MOST]
            _let_go(claim for _, claim in left[MOST:])
            return ended + (_work_off(kind, held) if held else 0)
    finally:
        _let_go(claim for _, claim in held if claim.outcome is None)


def _end_quick(kind: Kind, held: list[tuple[Job, Claim]]) -> int:
    """End those that hardly need work, where the kind has such; returns how many. If that fails, none is harmed."""
    if kind.quick is None:
        return 0
    try:
        kind.quick([claim for _, claim in held])
    except Exception:
        log.exception("%d jobs are worked off one by one", len(held))
    return sum(claim.outcome is not None for _, claim in held)


def _work_off(kind: Kind, held: list[tuple[Job, Claim]]) -> int:
    until, begun = monotonic() + LONGEST_S, 0
    known = _gathered(kind, [job for job, _ in held])
    for job, claim in held:
        if begun and monotonic() > until:
            break
        begun += 1
        _work_one(kind, job, claim, known)
    return begun


def _gathered(kind: Kind, batch: list[Job]) -> Mapping[UUID, Any] | None:
    """What the jobs need; None where it cannot be read at once, so that each finds out for itself."""
    assert kind.gather is not None  # such kinds alone are done in batches
    try:
        return kind.gather(batch)
    except Exception:
        log.exception("%d jobs are read one by one", len(batch))
        return None


def _work_one(kind: Kind, job: Job, claim: Claim, known: Mapping[UUID, Any] | None) -> None:
    try:
        work_on(kind, job, claim, known, begin=True)
    except Exception:  # it was given back, and is tried again; its neighbours go on
        log.exception("%s %s failed", job._meta.label, job.pk)  # its words may name people


def _let_go(claims: Iterable[Claim]) -> None:
    """Have others take at once what was claimed and not begun: a query for each number of claims, which are few."""
    numbered: dict[int, list[Job]] = defaultdict(list)
    for claim in claims:
        numbered[claim.number].append(claim.job)
    for number, held in numbered.items():
        rows = type(held[0])._base_manager.filter(pk__in=[job.pk for job in held], claim_number=number)
        rows.filter(state=JobState.RUNNING).update(state=JobState.WAITING, lease_until=None)


def _take_some(kind: Kind) -> list[tuple[Job, Claim]]:
    """Claim some jobs of whose turn it is. Whoever looks at the same moment takes others."""
    at = now()
    share = _whose_turn(kind, at)
    if share is None:
        return []
    wanted = kind.rows.wanted().free(at).filter(**{kind.shared_by: share}).order_by("created_at")
    # Rows may be wide: all that are wanted are sorted by what is narrow, and only those won are read.
    numbers = dict(wanted.values_list("pk", "claim_number")[: MOST_QUICK if kind.quick else MOST])
    with transaction.atomic():
        locked = kind.rows.free(at).filter(pk__in=numbers).select_for_update(skip_locked=True, of=("self",))
        found = {job.pk: job for job in locked}
        # A row that was claimed since it was looked at has another number by now, and may be done.
        won = [
            found[pk] for pk, number in numbers.items() if pk in found and found[pk].claim_number == number
        ]
        rows = kind.rows.filter(pk__in=[job.pk for job in won])
        rows.update(
            state=JobState.RUNNING,
            claim_number=F("claim_number") + 1,
            lease_until=at + kind.model.LEASE,
            worker=this_process(),
        )
    return [(job, Claim(job, job.claim_number + 1, job.attempts)) for job in won]


def _whose_turn(kind: Kind, at: datetime) -> Any:
    """Whom the next batch is for; None where nothing is to be done."""
    by = kind.shared_by
    waiting = set(kind.rows.wanted().free(at).order_by().values_list(by, flat=True).distinct())
    running = Count("pk", filter=Q(state=JobState.RUNNING, lease_until__gte=at))
    served = kind.rows.filter(**{f"{by}__in": waiting}).order_by().values(by)
    turns = served.annotate(running=running, last=Max("started_at")).values_list("running", "last", by)
    return min(((few, last or _LONG_AGO, str(share), share) for few, last, share in turns), default=(None,))[
        -1
    ]
