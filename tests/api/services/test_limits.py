"""Counts of requests."""

from datetime import timedelta
from uuid import uuid4

from django.core.cache import cache
from django.utils.timezone import now

from api.calc.rate import QUOTA, WINDOW_S
from api.services.limits import count_request


def test_each_token_has_a_count_of_its_own_in_each_window():
    one, other, at = uuid4(), uuid4(), now()

    counts = [count_request(token_id=key, at=at).used for key in (one, one, other)]

    assert counts == [1, 2, 1]
    assert count_request(token_id=one, at=at + timedelta(seconds=WINDOW_S)).used == 1


def test_one_more_than_the_quota_is_too_many():
    key, at = uuid4(), now()

    spent = [count_request(token_id=key, at=at).is_spent for _ in range(QUOTA + 1)]

    assert spent == [False] * QUOTA + [True]


def test_where_the_cache_lets_go_of_a_count_nobody_is_shut_out(monkeypatch):
    monkeypatch.setattr(cache, "add", lambda *_, **__: False)

    assert count_request(token_id=uuid4(), at=now()).used == 1
