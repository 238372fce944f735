"""Whose attempts to sign in are counted together."""

import pytest
from allauth.account.adapter import get_adapter
from django.core.cache import cache
from django.test import Client

MANY = 6
LIMITS = {"login": "5/m/ip"}


@pytest.mark.parametrize(
    ("proxies", "forwarded", "address"),
    [
        (0, None, "10.0.0.9"),
        (0, "203.0.113.5", "10.0.0.9"),
        (1, "203.0.113.5", "203.0.113.5"),
        (1, "198.51.100.7, 203.0.113.5", "203.0.113.5"),
        (2, "198.51.100.7, 203.0.113.5, 10.0.0.8", "203.0.113.5"),
        (2, "203.0.113.5", "10.0.0.9"),
        (1, "", "10.0.0.9"),
        (1, " , ", "10.0.0.9"),
    ],
)
def test_only_what_our_own_proxies_add_is_believed(rf, settings, proxies, forwarded, address):
    settings.PROXIES = proxies
    headers = {} if forwarded is None else {"X-Forwarded-For": forwarded}

    request = rf.get("/", REMOTE_ADDR="10.0.0.9", headers=headers)

    assert get_adapter().get_client_ip(request) == address


def attempts(forwarded, email):
    """Statuses of many attempts with a wrong password, all through one proxy."""
    client = Client(REMOTE_ADDR="10.0.0.9", headers={"X-Forwarded-For": forwarded})
    data = {"login": email, "password": "not-the-password"}
    return [client.post("/sign-in/login/", data).status_code for _ in range(MANY)]


def test_behind_a_proxy_one_person_does_not_lock_out_all(settings, firm):
    settings.PROXIES, settings.ACCOUNT_RATE_LIMITS = 1, LIMITS
    cache.clear()
    assert 429 in attempts("203.0.113.5", "stranger@example.org")
    client = Client(REMOTE_ADDR="10.0.0.9", headers={"X-Forwarded-For": "198.51.100.7"})

    answer = client.post("/sign-in/login/", {"login": firm.viewer.email, "password": "a-long-password-1"})

    assert answer.status_code == 302


def test_without_the_setting_the_whole_proxy_is_one_address(settings, firm):
    """The control for the test above."""
    settings.PROXIES, settings.ACCOUNT_RATE_LIMITS = 0, LIMITS
    cache.clear()
    attempts("203.0.113.5", "stranger@example.org")
    client = Client(REMOTE_ADDR="10.0.0.9", headers={"X-Forwarded-For": "198.51.100.7"})

    answer = client.post("/sign-in/login/", {"login": firm.viewer.email, "password": "a-long-password-1"})

    assert answer.status_code == 429
