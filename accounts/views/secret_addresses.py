"""Addresses that are a permission by themselves: who asks for many that there are not is refused for a while."""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from http import HTTPStatus
from ipaddress import IPv4Address, ip_address, ip_network
from typing import Any

from allauth.account.adapter import get_adapter
from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.secrets import hash_of

MOST_UNKNOWN = (
    30  # in one window, from one network: a calendar program whose address ended asks every few hours
)
WINDOW_S = 600
ADDRESSES = "addresses"
REFUSED = gettext_noop(
    "From where you are, many addresses were asked for that do not exist. Wait ten minutes, then open the link as it "
    "was given to you, or copy it whole."
)


class UnknownSecretError(Http404):
    """Nothing is behind the secret of an address."""


def by_secret(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Have a view that strangers reach by a secret count those that are none, and refuse who sent too many.

    The view raises UnknownSecretError for a secret behind which nothing is.
    """

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if sent_too_many_unknown(request):
            page = {"heading": _("Too many unknown addresses"), "text": _(REFUSED)}
            return render(request, "refused.html", page, status=HTTPStatus.TOO_MANY_REQUESTS)
        try:
            return view(request, *args, **kwargs)
        except UnknownSecretError:
            count_unknown(request)
            raise

    return answer


def sent_too_many_unknown(request: HttpRequest, kind: str = ADDRESSES) -> bool:
    """Whether the network that asks has sent more unknown secrets in this window than anybody does by mistake.

    kind: what the secrets are; each kind is counted by itself, so that a program with an old token closes no link.
    """
    return int(cache.get(_counter_of(request, kind), 0)) >= MOST_UNKNOWN


def count_unknown(request: HttpRequest, kind: str = ADDRESSES) -> None:
    """Count a secret of a kind behind which nothing is."""
    counter = _counter_of(request, kind)
    cache.add(counter, 0, WINDOW_S)
    with suppress(ValueError):  # the window ended in between
        cache.incr(counter)


def _counter_of(request: HttpRequest, kind: str) -> str:
    """The key of the count of this window, of the network that asks; the network itself is not kept."""
    window = int(now().timestamp()) // WINDOW_S
    network = _network(get_adapter().get_client_ip(request))
    return f"unknown-{kind}:{window}:{hash_of(network)[:20]}"


def _network(address: str) -> str:
    """An IPv6 network of 64 bits, since one machine has all its addresses; of IPv4 the address itself.

    Also of one that is written as IPv6 (RFC 4291, 2.5.5.2, from memory): all of those lie within 64 bits.
    """
    try:
        found = ip_address(address)
    except ValueError:
        return address
    if isinstance(found, IPv4Address):
        return str(found)
    return str(found.ipv4_mapped or ip_network(f"{found}/64", strict=False))
