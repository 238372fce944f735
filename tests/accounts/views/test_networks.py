"""Who sends many secrets that are none is counted by network: never with others, and never by one of many addresses."""

from datetime import timedelta
from ipaddress import IPv4Address, IPv6Address, ip_address

import pytest
import time_machine
from django.core.cache import cache
from django.test import RequestFactory
from django.utils.timezone import now
from hypothesis import given
from hypothesis import strategies as st

from accounts.views.secret_addresses import (
    MOST_UNKNOWN,
    WINDOW_S,
    _network,
    count_unknown,
    sent_too_many_unknown,
)

V4 = st.ip_addresses(v=4)
V6 = st.ip_addresses(v=6)


def asked_from(address):
    return RequestFactory().get("/", REMOTE_ADDR=str(address))


def guesses(address, count, kind="addresses"):
    for _ in range(count):
        count_unknown(asked_from(address), kind)


def is_refused(address, kind="addresses"):
    return sent_too_many_unknown(asked_from(address), kind)


@given(V4, V4)
def test_two_machines_of_ipv4_are_two(one, other):
    assert (_network(str(one)) == _network(str(other))) is (one == other)


@given(V4, V4)
def test_so_they_are_where_the_server_writes_them_as_ipv6(one, other):
    """All of those lie in one network of 64 bits: everybody would be refused for one."""
    mapped = [IPv6Address(f"::ffff:{address}") for address in (one, other)]

    assert (_network(str(mapped[0])) == _network(str(mapped[1]))) is (one == other)
    assert _network(str(mapped[0])) == _network(str(one))


@given(V6, st.integers(0, 2**64 - 1))
def test_all_addresses_of_one_network_of_ipv6_are_one(address, host):
    neighbour = IPv6Address((int(address) >> 64 << 64) | host)
    if address.ipv4_mapped is None and neighbour.ipv4_mapped is None:
        assert _network(str(address)) == _network(str(neighbour))


@given(V6, st.integers(64, 127))
def test_another_network_is_another(address, bit):
    other = IPv6Address(int(address) ^ (1 << bit))
    if address.ipv4_mapped is None:
        assert _network(str(address)) != _network(str(other))


@pytest.mark.parametrize("address", ["", "unknown", "256.1.1.1", "::zz", "a" * 300])
def test_what_is_no_address_stands_for_itself(address):
    assert _network(address) == address


@pytest.mark.parametrize(
    ("address", "neighbour"),
    [
        ("203.0.113.5", "203.0.113.6"),
        ("::ffff:203.0.113.5", "::ffff:203.0.113.6"),
        ("2001:db8::1", "2001:db8:0:1::1"),
    ],
)
def test_one_too_many_closes_the_door_to_that_network_alone(address, neighbour):
    guesses(address, MOST_UNKNOWN - 1)
    assert not is_refused(address)

    guesses(address, 1)

    assert is_refused(address)
    assert not is_refused(neighbour)


def test_one_machine_with_many_addresses_of_ipv6_is_one():
    for host in range(MOST_UNKNOWN):
        guesses(ip_address(f"2001:db8::{host:x}"), 1)

    assert is_refused("2001:db8::ffff")


def test_each_kind_of_secret_is_counted_by_itself():
    guesses(IPv4Address("203.0.113.5"), MOST_UNKNOWN, "tokens")

    assert is_refused("203.0.113.5", "tokens")
    assert not is_refused("203.0.113.5")


def test_the_door_opens_again_with_the_next_window():
    with time_machine.travel(now(), tick=False) as clock:
        guesses("203.0.113.5", MOST_UNKNOWN)
        assert is_refused("203.0.113.5")
        clock.shift(timedelta(seconds=WINDOW_S))
        assert not is_refused("203.0.113.5")


def test_a_count_that_the_cache_let_go_of_refuses_nobody(monkeypatch):
    monkeypatch.setattr(cache, "add", lambda *_, **__: False)

    guesses("203.0.113.5", MOST_UNKNOWN)

    assert not is_refused("203.0.113.5")
