"""The shared cache: Redis, or a table of the database, which also stands in while Redis is away.

Attempts to sign in are counted in it. The memory of a process would not do: each would count by itself.
"""

import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.cache.backends.db import DatabaseCache
from django.core.cache.backends.redis import RedisCache
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS
from redis.backoff import NoBackoff
from redis.exceptions import ConnectionError as NoConnection
from redis.exceptions import TimeoutError as NoAnswer
from redis.retry import Retry

log = logging.getLogger(__name__)

# Tried once and for a short time: the page waits for it.
QUICK = {"socket_connect_timeout": 1, "socket_timeout": 2, "retry": Retry(NoBackoff(), 0)}


def _or_here(name: str) -> Callable[..., Any]:
    def call(self: "FallbackCache", *args: Any, **kwargs: Any) -> Any:
        try:
            return getattr(RedisCache, name)(self, *args, **kwargs)
        except (NoConnection, NoAnswer) as error:
            log.warning("Redis is away, the database remembers instead: %s", error)
            return getattr(self.stand_in, name)(*args, **kwargs)

    return call


class TableCache(DatabaseCache):
    """A table that all processes share.

    It is not cut back to some hundred rows, as is usual: whoever tries many names could have the server forget its
    count of the one that matters.
    """

    MOST_ROWS = 100_000

    def __init__(self, table: str, params: dict[str, Any]) -> None:
        super().__init__(table, params | {"OPTIONS": {"MAX_ENTRIES": self.MOST_ROWS}})


def make_table(using: str = DEFAULT_DB_ALIAS, **_: Any) -> None:
    """Make the table where it is missing; called when the database has been brought up to date."""
    call_command("createcachetable", settings.CACHE_TABLE, database=using, verbosity=0)


class FallbackCache(RedisCache):
    """Redis, or the table while Redis cannot be reached; what Redis had counted begins anew there."""

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        super().__init__(server, params | {"OPTIONS": QUICK | params.get("OPTIONS", {})})
        self.stand_in = TableCache(settings.CACHE_TABLE, params)

    add = _or_here("add")
    get = _or_here("get")
    set = _or_here("set")
    touch = _or_here("touch")
    delete = _or_here("delete")
    get_many = _or_here("get_many")
    has_key = _or_here("has_key")
    incr = _or_here("incr")
    set_many = _or_here("set_many")
    delete_many = _or_here("delete_many")
    clear = _or_here("clear")
