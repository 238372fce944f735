"""What pages leave unread: with each forecast lie curves that are a thousand times as long as what lists show of it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from maintenance.models import Forecast, Recommendation
from tests.clock import TODAY
from tests.factories import BECAUSE, SiteFactory, SurfaceFactory, small_outlook

LIST = reverse("maintenance:surface-list")
PAGES = {
    "to do": lambda firm: "/",
    "surfaces": lambda firm: LIST,
    "a file of lines": lambda firm: LIST + "?export=csv",
    "a sheet": lambda firm: LIST + "?export=xlsx",
    "a site": lambda firm: firm.site.get_absolute_url(),
    "reports": lambda firm: reverse("reporting:report-list"),
    "visits": lambda firm: reverse("planning:visit-list"),
    "past forecasts": lambda firm: reverse("maintenance:calibration"),
}


@pytest.fixture
def forecast(firm):
    advice = {"action": "test", "due_on": TODAY, "earliest_on": TODAY, "currency": "EUR", "grounds": BECAUSE}
    Recommendation.objects.create(surface=firm.surface, **advice)
    judged = {"decline_percent_yr": 20.0, "decline_percentile": 0.95, "pits_json": [0.4]}
    return Forecast.objects.create(surface=firm.surface, outlook=small_outlook(), error="Said why.", **judged)


def bulky(queries):
    """Those that read what is long."""
    return [sql for sql in queries if any(f'"{name}"' in sql for name in Forecast.BULKY)]


def asked(client, url):
    """The queries of a page, the last piece of it included."""
    with CaptureQueriesContext(connection) as seen:
        answer = client.get(url)
        answer.getvalue()
    assert answer.status_code == 200
    return [query["sql"] for query in seen]


@pytest.mark.parametrize("place", PAGES)
def test_a_page_of_many_surfaces_reads_no_curves(client, firm, forecast, place):
    client.force_login(firm.viewer)

    queries = asked(client, PAGES[place](firm))

    assert bulky(queries) == []


def test_an_owners_first_page_reads_no_curves(client, firm, forecast):
    client.force_login(firm.owner_person)

    assert bulky(asked(client, "/")) == []


def test_the_page_of_a_surface_reads_them_which_shows_that_these_tests_would_notice(client, firm, forecast):
    client.force_login(firm.viewer)

    assert bulky(asked(client, firm.surface.get_absolute_url()))


def sites_of(firm, count):
    return [SiteFactory(owner=firm.owner, name=f"Lane {n:03}") for n in range(count)]


@pytest.mark.parametrize("url", [LIST, reverse("reporting:report-list")])
def test_sites_of_a_large_firm_come_fifty_to_a_page(client, firm, url):
    sites_of(firm, 60)
    client.force_login(firm.viewer)

    page = client.get(url).context["sites"]

    assert (len(page.object_list), page.paginator.count) == (50, 61)


def test_a_firm_of_many_sites_finds_one_by_a_word_instead_of_in_a_list_of_all(client, firm):
    *_, last = sites_of(firm, 101)
    surface = SurfaceFactory(site=last)
    client.force_login(firm.viewer)

    def offered(**query):
        answer = client.get(LIST, query)
        return list(answer.context["filter"].form["site"].field.queryset), answer.context["table"].rows

    assert offered()[0] == []
    assert [row.record for row in offered(q=last.name)[1]] == [surface]
    assert offered(site=last.pk)[0] == [last]
    assert [row.record for row in offered(site=last.pk)[1]] == [surface]
    assert offered(site="not an id")[0] == []


def test_a_report_is_found_by_a_word_of_its_site_or_owner(client, firm):
    wanted = SiteFactory(owner=firm.owner, name="Harbour lane")
    client.force_login(firm.viewer)

    def found(words):
        return list(client.get(reverse("reporting:report-list"), {"q": words}).context["sites"])

    assert found("lane harb") == [wanted]
    assert set(found(firm.owner.name)) == {wanted, firm.site}
    assert found("no such place") == []
