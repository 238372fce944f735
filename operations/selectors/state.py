"""How the server is: its database, cache, disk and clock, asked one by one, each with an answer in words."""

import logging
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.timezone import now
from redis import Redis
from redis.exceptions import RedisError

from operations.calc.signs import BACKUP_MISSING_AFTER, SignOf, is_silent
from operations.models import Sign

log = logging.getLogger(__name__)

ANSWER_WITHIN_S = 1.0
BYTES_A_MB = 1_000_000


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at, in words that a stranger may read. is_needed: whether no request can do without."""

    name: str
    is_well: bool
    words: str
    is_needed: bool = True


def checks() -> Iterator[Check]:
    """Every check; those that need the database are left out where it does not answer."""
    database = check_database()
    yield database
    if database.is_well:
        yield check_clock()
        if settings.BACKUP_DIR:
            yield check_backup_of_night()
    yield check_disk()
    if settings.REDIS_URL:
        yield check_redis()


def check_database() -> Check:
    """Whether the database answers and is of this edition."""
    try:
        plan = MigrationExecutor(connection)
        behind = bool(plan.migration_plan(plan.loader.graph.leaf_nodes()))
    except DatabaseError as error:
        log.error("The database does not answer: %s", error)
        return Check("database", False, "The database does not answer.")
    if behind:
        return Check("database", False, "The database is not brought up to date.")
    return Check("database", True, "It answers and is up to date.")


def check_clock() -> Check:
    """Whether the periodic work was done lately. Pages can do without for a while, so it turns no server away."""
    seen_at = Sign.objects.filter(of=SignOf.CLOCK).values_list("seen_at", flat=True).first()
    if is_silent(seen_at, now()):
        words = "No sign of life: is the scheduler, or Celery's beat and a worker, running?"
        return Check("clock", False, words, is_needed=False)
    return Check("clock", True, "The periodic work is done.", is_needed=False)


def check_backup_of_night() -> Check:
    """Whether a backup was made lately. It turns no server away."""
    seen_at = Sign.objects.filter(of=SignOf.BACKUP).values_list("seen_at", flat=True).first()
    if seen_at is None or now() - seen_at > BACKUP_MISSING_AFTER:
        return Check("backup", False, "The last night's is missing.", is_needed=False)
    return Check("backup", True, "The last night's was made.", is_needed=False)


def free_bytes() -> int:
    """Free space where data are kept."""
    folder = Path(settings.DATA_DIR)
    return shutil.disk_usage(folder if folder.exists() else folder.parent).free


def check_disk() -> Check:
    """Whether there is room for what people send."""
    if free_bytes() < settings.DISK_FLOOR_MB * BYTES_A_MB:
        return Check("disk", False, "There is too little room left on the disk.")
    return Check("disk", True, "There is room.")


def check_redis() -> Check:
    """Whether Redis answers. Pages can do without: the database counts instead, and the sweep finds what waits."""
    try:
        Redis.from_url(
            settings.REDIS_URL, socket_connect_timeout=ANSWER_WITHIN_S, socket_timeout=ANSWER_WITHIN_S
        ).ping()
    except (RedisError, OSError) as error:
        log.warning("Redis does not answer: %s", error)
        return Check("redis", False, "It does not answer; work in the background waits.", is_needed=False)
    return Check("redis", True, "It answers.", is_needed=False)
