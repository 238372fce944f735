"""Counts of requests, in the cache that all processes share."""

from contextlib import suppress
from datetime import datetime
from uuid import UUID

from django.core.cache import cache

from api.calc.rate import WINDOW_S, Allowance, window_of


def count_request(*, token_id: UUID, at: datetime) -> Allowance:
    """Count a request of a token, and say where it stands in the window of now."""
    window, left_s = window_of(at.timestamp())
    key = f"api-requests:{token_id}:{window}"
    cache.add(key, 0, 2 * WINDOW_S)
    used = 1
    with suppress(ValueError):  # the cache let go of it in between
        used = cache.incr(key)
    return Allowance(used, left_s)
