"""The shared cache. While Redis is away the memory of each process stands in, so that people can still sign in."""

import logging
from collections.abc import Callable
from typing import Any

from django.core.cache.backends.locmem import LocMemCache
from django.core.cache.backends.redis import RedisCache
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
            log.warning("Redis is away, this process remembers by itself: %s", error)
            return getattr(self.stand_in, name)(*args, **kwargs)

    return call


class FallbackCache(RedisCache):
    """Redis, or this process's own memory while Redis cannot be reached.

    What is kept in it (counts of sign-in attempts) is then counted for each process by itself, which is
    laxer than for all together but far from no limit at all.
    """

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        super().__init__(server, params | {"OPTIONS": QUICK | params.get("OPTIONS", {})})
        self.stand_in = LocMemCache("while redis is away", params)

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
