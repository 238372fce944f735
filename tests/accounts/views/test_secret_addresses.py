"""Who asks for many secret addresses that there are not is refused for a while; who has one that is, is not counted."""

import pytest
from django.urls import reverse

from accounts.views.secret_addresses import MOST_UNKNOWN
from tests.permissions import rows_of

ROUTES = (
    "planning:feed-show",
    "accounts:invitation-accept",
    "reporting:shared-show",
    "reporting:shared-rows",
)


def guess(client, route, times=1, **headers):
    return [
        client.get(reverse(route, args=[f"guess-number-{n:030}"]), **headers).status_code
        for n in range(times)
    ]


@pytest.mark.parametrize("route", ROUTES)
def test_after_many_unknown_secrets_nothing_more_is_answered_from_there_for_any_kind_of_address(
    client, firm, settings, route
):
    settings.PROXIES = 1
    rows = rows_of(firm)
    there, elsewhere = {"HTTP_X_FORWARDED_FOR": "203.0.113.7"}, {"HTTP_X_FORWARDED_FOR": "203.0.113.8"}

    first = guess(client, route, MOST_UNKNOWN, **there)

    assert set(first) == {404}
    refused = client.get(reverse("planning:feed-show", args=[rows["token"]]), **there)
    assert refused.status_code == 429
    assert "Wait ten minutes" in refused.content.decode()
    assert guess(client, "reporting:shared-show", **there) == [429]
    assert guess(client, route, **elsewhere) == [404]


def test_addresses_that_exist_are_not_counted(client, firm):
    rows = rows_of(firm)
    url = reverse("reporting:shared-rows", args=[rows["shared_sites"]])

    answers = {client.get(url).status_code for _ in range(MOST_UNKNOWN + 2)}

    assert answers == {200}


def test_the_whole_network_of_a_machine_with_many_addresses_is_counted_as_one(client, settings, db):
    settings.PROXIES = 1
    for n in range(MOST_UNKNOWN):
        guess(client, "planning:feed-show", HTTP_X_FORWARDED_FOR=f"2001:db8:1:2::{n:x}")

    assert guess(client, "planning:feed-show", HTTP_X_FORWARDED_FOR="2001:db8:1:2:ffff::1") == [429]
    assert guess(client, "planning:feed-show", HTTP_X_FORWARDED_FOR="2001:db8:1:3::1") == [404]


def test_an_address_that_is_none_is_counted_by_itself(client, settings, db):
    settings.PROXIES = 1

    assert guess(client, "planning:feed-show", HTTP_X_FORWARDED_FOR="unknown") == [404]
