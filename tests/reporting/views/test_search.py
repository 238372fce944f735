"""The page that finds things, and what was opened lately."""

import pytest
from django.urls import reverse

from accounts.views.current_organisation import OWN_SITES, SESSION_KEY
from core.presentation.tables import ROWS_A_PAGE
from qa.models import Surface
from reporting.views.search import SHOWN_OF_A_KIND
from tests.factories import OwnerFactory, OwnerPersonFactory, SiteFactory, SurfaceFactory, VisitFactory

URL = reverse("reporting:search-show")
OPENED = reverse("reporting:search-opened")


@pytest.fixture
def page(client, firm):
    def read(query="", who=None, url=URL):
        client.force_login(who or firm.viewer)
        return client.get(url + query).content.decode()

    return read


def test_it_finds_and_leads_to_the_page(firm, page):
    text = page(f"?q={firm.surface.name}")

    assert f'href="{firm.surface.get_absolute_url()}"' in text
    assert firm.owner.name in text


def test_what_was_typed_stays_in_both_fields_and_is_no_markup(page):
    text = page("?q=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")

    assert "<script>alert(1)" not in text
    assert text.count('value="&quot;&gt;&lt;script&gt;alert(1)&lt;/script&gt;"') == 2


def test_nothing_found_says_what_to_do(page):
    assert "Try fewer" in page("?q=nothing-is-called-so")


def test_a_kind_with_many_finds_shows_the_best_and_leads_to_all(firm, page):
    SurfaceFactory.create_batch(ROWS_A_PAGE + 5, site=firm.site)

    overview = page(f"?q={firm.site.name}")
    assert "All surfaces that match" in overview
    assert overview.count('href="/surfaces/') - overview.count('href="/surfaces/"') == SHOWN_OF_A_KIND

    second = page(f"?q={firm.site.name}&kind=surface&page=2")
    assert second.count('class="finds__link"') == 6
    assert "51 to 56 of 56" in " ".join(second.split())


@pytest.mark.parametrize(
    "query", ["?kind=surface", "?q=&kind=visit", "?q=x&kind=planet", "?q=x&kind=site&page=zero"]
)
def test_an_odd_address_is_answered(page, query):
    assert "Search" in page(query)


def test_before_anything_is_typed_it_offers_what_was_opened_lately(client, firm, page):
    client.force_login(firm.viewer)
    for url in (firm.owner.get_absolute_url(), firm.site.get_absolute_url(), firm.surface.get_absolute_url()):
        client.get(url)

    text = client.get(URL).content.decode()
    found = [
        text.index(f'finds__link" href="{row.get_absolute_url()}"')
        for row in (firm.surface, firm.site, firm.owner)
    ]
    assert found == sorted(found)
    assert "Opened lately" in client.get(OPENED).content.decode()


def test_a_visit_that_was_opened_is_offered(client, firm):
    visit = VisitFactory(organisation=firm.organisation)
    client.force_login(firm.viewer)
    client.get(visit.get_absolute_url())

    assert visit.get_absolute_url() in client.get(OPENED).content.decode()


def test_what_was_opened_for_one_firm_is_not_offered_in_another(client, firm):
    reader = OwnerPersonFactory(owner=firm.owner, user=firm.outsider).user
    client.force_login(reader)
    session = client.session
    session[SESSION_KEY] = OWN_SITES
    session.save()
    client.get(firm.surface.get_absolute_url())
    assert firm.surface.name in client.get(OPENED).content.decode()

    session = client.session
    session[SESSION_KEY] = str(reader.memberships.get().organisation_id)
    session.save()

    assert firm.surface.name not in client.get(OPENED).content.decode()


def test_what_may_no_longer_be_seen_is_not_offered(client, firm):
    client.force_login(firm.owner_person)
    client.get(firm.surface.get_absolute_url())
    firm.owner_person.owner_links.all().delete()

    assert firm.surface.name not in client.get(OPENED).content.decode()


def test_owners_people_find_their_own_sites_alone(firm, page):
    other = SiteFactory(owner=OwnerFactory(organisation=firm.organisation), name="Not theirs")

    text = page("?q=not", who=firm.owner_person)

    assert other.get_absolute_url() not in text


def test_the_overview_costs_a_constant_number_of_queries(client, firm, django_assert_max_num_queries):
    client.force_login(firm.viewer)
    for _ in range(30):
        SurfaceFactory(site=SiteFactory(owner=firm.owner))
    assert Surface.objects.count() > 30

    with django_assert_max_num_queries(16):
        client.get(f"{URL}?q=s")


def test_the_field_stands_on_every_page_of_who_is_signed_in(client, firm):
    assert "data-search=" not in client.get(reverse("account_login")).content.decode()
    client.force_login(firm.viewer)

    assert f'action="{URL}"' in client.get("/").content.decode()
