"""Numbers by which a server is watched, read from the rows that hold them: the same whichever process answers."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.db import connection
from django.db.models import CharField, Count, F, Min, Q, QuerySet, Value
from django.db.models.functions import Cast

from core.calc.jobs import JobState
from fieldwork.calc.phones import HeldState
from fieldwork.models import HeldEntry
from maintenance.models import Forecast
from operations.calc.job_kinds import KINDS, JobKind
from operations.calc.signs import SignOf
from operations.models import Sign
from operations.selectors.jobs import rows_of, together
from operations.selectors.state import free_bytes


@dataclass(frozen=True, slots=True)
class Numbers:
    """Counts, ages in seconds and sizes in bytes. An age is missing where the thing never happened.

    jobs: by key of the kind and state. oldest_s: how long the first that waits could have been done, by key.
    """

    jobs: Mapping[tuple[str, str], int]
    oldest_s: Mapping[str, float]
    forecasts_stale: int
    entries_held: Mapping[str, int]
    ages_s: Mapping[str, float]
    database_bytes: int
    free_bytes: int


def numbers_at(at: datetime) -> Numbers:
    """The numbers of all firms together, at an instant. A few queries, however many rows there are."""
    jobs, oldest_s = _jobs(at)
    return Numbers(
        jobs=jobs,
        oldest_s=oldest_s,
        forecasts_stale=Forecast.objects.wanted().exclude(state=JobState.RUNNING).count(),
        entries_held=_entries_held(),
        ages_s={sign.of: (at - sign.seen_at).total_seconds() for sign in Sign.objects.all()},
        database_bytes=_database_bytes(),
        free_bytes=free_bytes(),
    )


def _jobs(at: datetime) -> tuple[Counter[tuple[str, str]], dict[str, float]]:
    counts: Counter[tuple[str, str]] = Counter()
    oldest_s: dict[str, float] = {}
    for key, state, count, first in together([_by_state(kind, at) for kind in KINDS]):
        counts[key, state] = count
        if state == JobState.WAITING and first is not None:
            oldest_s[key] = max(0.0, (at - first).total_seconds())
    return counts, oldest_s


def _by_state(kind: JobKind, at: datetime) -> QuerySet[Any, tuple[Any, ...]]:
    first = Min("due_at", filter=Q(due_at__lte=at)) if kind.is_mail else Min("wanted_since")
    rows = rows_of(kind).order_by().values(job_kind=Cast(Value(kind.key), CharField()), job_state=F("state"))
    counted: QuerySet[Any, tuple[Any, ...]] = rows.annotate(n=Count("pk"), first=first).values_list(
        "job_kind", "job_state", "n", "first"
    )
    return counted


def _entries_held() -> dict[str, int]:
    """Entries that phones told of and that did not arrive, and nobody dealt with, by what became of them."""
    rows = HeldEntry.objects.open().order_by().values_list("state").annotate(n=Count("pk"))
    return dict.fromkeys((HeldState.WAITING.value, HeldState.PARKED.value, HeldState.LOST.value), 0) | dict(
        rows
    )


def _database_bytes() -> int:
    """What the database takes on its disk, with what it keeps beside it until it is written in."""
    if connection.vendor == "sqlite":
        name = str(connection.settings_dict["NAME"])
        files = [Path(f"{name}{ending}") for ending in ("", "-wal")]
        return sum(path.stat().st_size for path in files if path.exists())
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


def age_of(numbers: Numbers, of: SignOf) -> float | None:
    """Seconds since something happened last; None where it never did."""
    return numbers.ages_s.get(of)
