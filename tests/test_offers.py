"""What a page offers, its reader may do: every link and form that each role is shown is followed."""

from html.parser import HTMLParser
from types import SimpleNamespace
from urllib.parse import urljoin, urlsplit

import pytest
from django.db import transaction
from django.urls import Resolver404, resolve, reverse

from tests.conftest import ROLES
from tests.factories import MembershipFactory, OrganisationFactory
from tests.permissions import ELSEWHERE, TABLE

STARTS = [route for route, (method, kind, _) in TABLE.items() if method == "get" and kind is None]
REFUSED = (403, 404)


class Offers(HTMLParser):
    """The links and the addresses that forms send to, of one page."""

    def __init__(self):
        super().__init__()
        self.links, self.forms = set(), set()

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag == "a" and given.get("href"):
            self.links.add(given["href"])
        elif tag == "form" and given.get("method") == "post" and given.get("action"):
            self.forms.add(given["action"])


def ours(url):
    """The route of an address of our own; empty for one of the packages, of a file or of elsewhere."""
    parts = urlsplit(url)
    if parts.netloc or not parts.path.startswith("/"):
        return ""
    try:
        route = resolve(parts.path).view_name
    except Resolver404:
        return ""
    return "" if route.startswith(ELSEWHERE) else route


def offered_by(page, at):
    reader = Offers()
    reader.feed(page)
    links, forms = ({urljoin(at, one) for one in found} for found in (reader.links, reader.forms))
    return {one for one in links if ours(one)}, {one for one in forms if ours(one)}


def sends(client, url):
    """What a form's address answers to an empty sending, without its effects."""
    with transaction.atomic():
        status = client.post(url).status_code
        transaction.set_rollback(True)
    return status


def walk(client, starts):
    """Every page that can be reached from these, with what is refused on the way: the page, the offer, the answer."""
    waiting = [("", url) for url in starts]
    seen, refused = set(), []
    while waiting:
        at, url = waiting.pop()
        if urlsplit(url).path in seen:
            continue
        seen.add(urlsplit(url).path)
        answer = client.get(url)
        if answer.status_code in REFUSED and at:
            refused.append((at, url, answer.status_code))
        if answer.status_code != 200 or "html" not in answer["Content-Type"]:
            continue
        links, forms = offered_by(answer.content.decode(), url)
        waiting += [(url, link) for link in sorted(links)]
        new = [form for form in sorted(forms) if f"post {form}" not in seen]
        seen |= {f"post {form}" for form in new}
        refused += [(url, form, 403) for form in new if sends(client, form) == 403]
    return seen, refused


@pytest.fixture
def empty_firm(db):
    organisation = OrganisationFactory()
    people = {
        name: MembershipFactory(organisation=organisation, role=role).user for name, role in ROLES.items()
    }
    return SimpleNamespace(organisation=organisation, **people)


@pytest.mark.parametrize("role", ROLES)
def test_nothing_that_an_empty_firm_offers_is_refused(client, empty_firm, role):
    client.force_login(getattr(empty_firm, role))

    seen, refused = walk(client, [reverse(route) for route in STARTS])

    assert refused == []
    assert reverse("qa:rule-list") in seen


@pytest.mark.parametrize("role", [*ROLES, "owner_person"])
def test_nothing_that_a_bare_surface_offers_is_refused(client, firm, role):
    client.force_login(getattr(firm, role))

    seen, refused = walk(client, [reverse("reporting:start"), reverse("maintenance:surface-list")])

    assert refused == []
    assert reverse("reporting:surface-detail", args=[firm.surface.pk]) in seen


@pytest.mark.parametrize("role", [*ROLES, "owner_person"])
def test_nothing_that_a_firm_at_work_offers_is_refused(client, furnished, role):
    rows = furnished.rows
    client.force_login(getattr(furnished, role))
    pages = [
        reverse(route, args=[rows[kind]])
        for route, (method, kind, _) in TABLE.items()
        if method == "get" and kind not in (None, "token") and not route.endswith("-download")
    ]

    _, refused = walk(client, [reverse("reporting:start"), *pages])

    assert refused == []
