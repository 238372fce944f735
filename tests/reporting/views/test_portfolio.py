"""The page of a portfolio: what it counts, what owners read of it, its files, and what it costs to make."""

import csv
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook

from maintenance.models import Forecast, Recommendation
from maintenance.services import releases
from qa.models import Surface
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    OwnerFactory,
    OwnerPersonFactory,
    RecommendationFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

URL = reverse("reporting:portfolio-show")


@pytest.fixture
def page(client, db):
    def read(who, query=""):
        client.force_login(who)
        return client.get(URL + query).content.decode()

    return read


@pytest.fixture
def table(client):
    """A table of the page as rows of text."""

    def read(who, key, query=""):
        client.force_login(who)
        answer = client.get(f"{URL}?table={key}&export=csv{query}")
        text = b"".join(answer.streaming_content).decode()
        return list(csv.reader(StringIO(text)))[1:]

    return read


def forecast(surface, state, **more):
    return Forecast.objects.create(surface=surface, surface_state=state, **more)


def test_surfaces_are_counted_as_they_are_asked_for(firm, table):
    forecast(firm.surface, "below_limit")
    SurfaceFactory(site=firm.site, surface_type="gravel", opened_on=TODAY - timedelta(days=30))
    SurfaceFactory(site=firm.site, removed_on=TODAY)

    by_type = table(firm.viewer, "states", "&by=type")
    by_age = table(firm.viewer, "states", "&by=age")

    assert [row[0] for row in by_type] == [firm.surface.get_surface_type_display(), "Open gravel"]
    assert by_type[0][1] == "1"  # below limit comes first
    assert "under 2 years" in {row[0] for row in by_age}
    assert sum(int(row[6]) for row in by_age) == 2


def test_nothing_of_another_firm_and_of_other_owners_is_counted(firm, table, page):
    SurfaceFactory(site=SiteFactory(name="site-of-another-firm", latitude_deg=50.0, longitude_deg=6.0))
    other = SiteFactory(
        owner=OwnerFactory(organisation=firm.organisation, name="another-owner"),
        name="site-of-another-owner",
        latitude_deg=50.0,
        longitude_deg=6.0,
    )
    SurfaceFactory(site=other)

    assert {row[0] for row in table(firm.viewer, "sites")} == {"site-of-another-owner"}
    assert {row[0] for row in table(firm.viewer, "states", "&by=owner")} == {str(firm.owner), "another-owner"}
    shown = page(firm.owner_person, "?by=owner")
    for secret in ("site-of-another-firm", "site-of-another-owner", "another-owner"):
        assert secret not in shown


def test_an_owner_reads_neither_cost_nor_hours_nor_crews_nor_advice_that_was_not_released(firm, page, table):
    crew = CrewFactory(organisation=firm.organisation, name="crew-with-a-name", hour_cost=77)
    task = VisitTaskFactory(
        visit=VisitFactory(crew=crew, visit_on=TODAY - timedelta(days=3)), surface=firm.surface
    )
    type(task).objects.update(ended_at="2026-06-07T10:00Z", outcome="done", taken_min=600)
    RecommendationFactory(surface=firm.surface, action="test", due_on=TODAY - timedelta(days=3), cost=432)

    firms, owners = page(firm.viewer), page(firm.owner_person)

    assert "Money and hours" in firms
    assert "Hours on site" in firms
    assert "Cost to the firm" in firms
    for secret in (
        "Hours on site",
        "crew-with-a-name",
        "Cost to the firm",
        "432",
        "What ways of cleaning gave",
    ):
        assert secret not in owners
    assert table(firm.owner_person, "due")[0][1:] == ["0", "0", "0", "0"]
    assert table(firm.viewer, "due")[0][1:] == ["1", "0", "0", "0"]


def test_what_was_released_counts_for_the_owner_by_its_day(firm, table, page):
    advice = RecommendationFactory(
        surface=firm.surface, action="test", due_on=TODAY + timedelta(days=9), cost=160
    )
    releases.release(recommendations=[advice], by=firm.admin)

    assert table(firm.owner_person, "due")[0][1:] == ["0", "1", "0", "0"]
    assert "160 EUR" in page(firm.owner_person)

    Recommendation.objects.update(status="planned")
    assert table(firm.owner_person, "due")[0][1:] == ["0", "0", "0", "1"]


def test_what_is_due_is_late_soon_or_later_by_its_day(firm, table):
    for number, days in enumerate((-1, 0, 30, 31)):
        surface = SurfaceFactory(site=firm.site, name=f"S{number}")
        RecommendationFactory(surface=surface, action="test", due_on=TODAY + timedelta(days=days))
    gone = SurfaceFactory(site=firm.site, removed_on=TODAY)
    RecommendationFactory(surface=gone, action="test", due_on=TODAY)

    assert table(firm.viewer, "due")[0] == ["Test, advised", "1", "2", "1", "0"]


def test_an_owner_reads_what_was_spent_year_by_year_and_how_much_has_no_price(firm, table, page):
    for cost in (100, 150, None):
        CleaningFactory(
            surface=firm.surface, cleaned_on=TODAY - timedelta(days=40), cost=cost, currency="EUR"
        )

    assert table(firm.owner_person, "spent") == [[str(TODAY.year), "3", "250.0", "EUR", "1"]]
    assert "250.00 EUR" in page(firm.owner_person)


def test_the_trend_is_of_rounds_that_count(firm, table):
    for mass, days, more in ((18.0, 200, {}), (0.01, 20, {"is_valid": False})):
        round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=days))
        test = InfiltrationTestFactory(round=round_, test_mass=mass)
        type(test).objects.filter(pk=test.pk).update(**more)

    rows = table(firm.viewer, "trend")

    assert {row[2] for row in rows} == {"0.0"}
    assert [row[3] for row in rows] == ["1"] * len(rows)


@pytest.mark.parametrize(
    ("rates", "share_below"),
    [
        ({"A": (100.0, 400.0)}, "0.0"),  # 250 by the mean of its spot, 200 by that of the logarithms
        ({"A": (100.0,), "B": (400.0,)}, "1.0"),
        ({"A": (100.0, 400.0), "B": (150.0,)}, "1.0"),  # 194
        ({"A": (100.0, 400.0), "B": (230.0,)}, "0.0"),  # 240, by the logarithms of all 210
        ({"A": (100.0, 400.0, 1.0), "B": (230.0,)}, "0.0"),  # a third one is left out
    ],
)
def test_a_round_stands_by_the_means_of_its_spots(firm, table, rates, share_below):
    Surface.objects.filter(pk=firm.surface.pk).update(limit_mm_h=220.0)
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1))
    for spot, of_spot in rates.items():
        for sequence, rate in enumerate(of_spot, 1):
            test = InfiltrationTestFactory(round=round_, spot=spot, sequence=sequence)
            type(test).objects.filter(pk=test.pk).update(rate_mm_h=rate)

    assert table(firm.viewer, "trend")[-1][2] == share_below


def test_the_history_of_a_firm_is_kept_for_an_hour_and_to_itself(firm, table):
    def test_round():
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=1)))

    assert table(firm.viewer, "trend") == []
    test_round()
    assert table(firm.viewer, "trend") == []
    assert len(table(firm.owner_person, "trend")) == 1  # an owner's few are read each time

    cache.clear()
    assert len(table(firm.viewer, "trend")) == 1
    assert table(firm.outsider, "trend") == []


def test_sites_lie_on_the_map_as_their_worst_surface_and_those_without_a_place_are_named(firm, page, table):
    placed = SiteFactory(owner=firm.owner, name="Placed", latitude_deg=51.0, longitude_deg=0.0)
    forecast(SurfaceFactory(site=placed), "watch")
    forecast(SurfaceFactory(site=placed), "draining")

    shown = page(firm.owner_person)

    assert 'aria-label="Placed: watch, 2 surfaces"' in shown
    assert f'href="{placed.get_absolute_url()}"' in shown
    assert f"Without a position, so not on it: {firm.site.name}." in shown
    assert table(firm.viewer, "sites") == [["Placed", "watch", "2", "51.0", "0.0"]]


def test_too_few_to_say_is_said_and_not_drawn(firm, page):
    forecast(firm.surface, "draining", decline_percent_yr=20.0)

    shown = page(firm.viewer)

    assert "Which kinds clog" in shown
    assert "fewer than 5: too few to say" in shown
    assert "No group has 5 yet" in shown


def test_every_table_is_a_spreadsheet_too_and_an_unknown_one_is_not_found(client, firm):
    client.force_login(firm.viewer)
    for key in ("states", "sites", "due", "trend", "spent", "types", "conditions", "gains"):
        answer = client.get(f"{URL}?table={key}&export=xlsx")
        assert load_workbook(BytesIO(b"".join(answer.streaming_content))).active["A1"].value

    assert client.get(f"{URL}?table=secrets&export=csv").status_code == 404


@pytest.mark.parametrize("query", ["?by=nonsense", "?by=%00", "?export=pdf&table=states", "?table=states"])
def test_an_address_that_asks_for_nothing_there_is_shows_the_page(firm, page, query):
    assert "Surfaces by surface type" in page(firm.viewer, query)


def test_without_a_surface_the_page_says_so(page):
    person = OwnerPersonFactory().user

    assert "No surface is in use yet" in page(person)


def test_areas_are_in_the_units_of_who_reads(firm, table):
    type(firm.viewer).objects.filter(pk=firm.viewer.pk).update(units="us")
    type(firm.surface).objects.update(area_m2=100.0)

    assert float(table(firm.viewer, "states")[0][7]) == pytest.approx(1076.4)


@pytest.mark.parametrize("who", ["coordinator", "owner_person"])
def test_more_surfaces_take_no_more_queries(client, firm, who):
    def queries():
        cache.clear()  # a firm's history is kept for an hour
        client.force_login(getattr(firm, who))
        with CaptureQueriesContext(connection) as asked:
            assert client.get(URL).status_code == 200
        return len(asked)

    _fill(firm)
    few = queries()
    for _ in range(4):
        _fill(firm)

    assert queries() <= few


def _fill(firm):
    """A site more with everything that is counted."""
    surface = SurfaceFactory(site=SiteFactory(owner=firm.owner, latitude_deg=51.0, longitude_deg=6.0))
    forecast(surface, "watch", decline_percent_yr=12.0)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY - timedelta(days=50)))
    CleaningFactory(surface=surface, cleaned_on=TODAY - timedelta(days=40), cost=10, currency="EUR")
    advice = RecommendationFactory(surface=surface, action="test", due_on=TODAY + timedelta(days=5))
    releases.release(recommendations=[advice], by=firm.admin)


@pytest.mark.parametrize(("limit", "below"), [(95.0, "0.0"), (105.0, "1.0")])
def test_a_round_is_told_by_its_spots_as_everywhere_else(firm, table, limit, below):
    """200 twice at one spot and 50 at another: 100 by the spots, where 126 would be by the tests."""
    firm.surface.limit_mm_h = firm.surface.agreed_limit_mm_h = limit
    firm.surface.save()
    round_ = RoundFactory(surface=firm.surface, tested_on=TODAY - timedelta(days=20))
    for spot, sequence, rate in (("A", 1, 200.0), ("A", 2, 200.0), ("B", 1, 50.0)):
        test = InfiltrationTestFactory(round=round_, spot=spot, sequence=sequence)
        type(test).objects.filter(pk=test.pk).update(rate_mm_h=rate, is_valid=True)

    assert {row[2] for row in table(firm.viewer, "trend")} == {below}
