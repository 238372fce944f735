"""While Redis is away the database remembers for all processes; once it is back it is asked again."""

import logging
from datetime import timedelta

import pytest
from django.conf import settings
from django.core.cache.backends.redis import RedisCache
from redis.exceptions import ConnectionError as NoConnection
from redis.exceptions import ResponseError
from redis.exceptions import TimeoutError as NoAnswer

from core.services import cache as cache_module
from core.services.cache import FallbackCache, TableCache
from tests.clock import START

pytestmark = pytest.mark.django_db
NOWHERE = "redis://127.0.0.1:1/0"  # a port on which nothing listens


@pytest.fixture
def cache():
    cache = FallbackCache(NOWHERE, {})
    cache.clear()
    return cache


def test_what_is_put_in_is_found_though_redis_is_away(cache):
    cache.set("attempts", 3)

    assert cache.get("attempts") == 3
    assert cache.has_key("attempts")


def test_attempts_are_still_counted(cache):
    assert cache.add("attempts", 1) is True
    assert cache.add("attempts", 1) is False
    assert [cache.incr("attempts"), cache.incr("attempts")] == [2, 3]


def test_several_keys_at_once_and_taking_them_out(cache):
    cache.set_many({"a": 1, "b": 2, "c": 3})
    cache.delete("a")
    cache.delete_many(["b"])

    assert cache.get_many(["a", "b", "c"]) == {"c": 3}


def test_what_runs_out_is_forgotten_unless_it_is_touched(cache, time_machine):
    cache.set_many({"kept": 1, "gone": 1}, timeout=30)
    cache.touch("kept", 300)

    time_machine.move_to(START + timedelta(seconds=60))

    assert (cache.get("kept"), cache.get("gone")) == (1, None)


def test_each_time_it_is_away_is_in_the_log(cache, caplog, monkeypatch):
    # A program that another test ran within this process may have silenced the loggers there were.
    monkeypatch.setattr(cache_module.log, "disabled", False)
    monkeypatch.setattr(logging.root.manager, "disable", logging.NOTSET)
    with caplog.at_level(logging.WARNING):
        cache.get("x")

    assert "Redis is away" in caplog.text


@pytest.mark.parametrize("error", [NoConnection("refused"), NoAnswer("too slow")])
def test_a_redis_that_is_back_is_asked_again(cache, monkeypatch, error):
    def away(*args, **kwargs):
        raise error

    cache.set("x", "here")
    monkeypatch.setattr(RedisCache, "get", away)
    while_away = cache.get("x")
    monkeypatch.setattr(RedisCache, "get", lambda self, key: "there")

    assert (while_away, cache.get("x")) == ("here", "there")


def test_a_fault_of_ours_is_not_taken_for_a_redis_that_is_away(cache, monkeypatch):
    def wrong(*args, **kwargs):
        raise ResponseError("WRONGTYPE")

    monkeypatch.setattr(RedisCache, "get", wrong)

    with pytest.raises(ResponseError):
        cache.get("x")


def test_what_one_process_counts_another_finds():
    mine, theirs = FallbackCache(NOWHERE, {}), TableCache(settings.CACHE_TABLE, {})

    mine.set("attempts", [1.0, 2.0])

    assert theirs.get("attempts") == [1.0, 2.0]
    assert theirs.add("attempts", []) is False


def test_many_names_do_not_make_the_count_of_one_forgotten():
    cache = TableCache(settings.CACHE_TABLE, {})
    cache.set("the-one-that-is-tried", 5)

    cache.set_many({f"another-{n}": 1 for n in range(400)})

    assert cache.get("the-one-that-is-tried") == 5
