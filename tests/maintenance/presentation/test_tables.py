"""Lists: what they show, how they are narrowed and ordered, and what leaves as a file."""

import csv
import io
from datetime import timedelta

import openpyxl
import pytest
from django.urls import reverse

from core.presentation.exports import plain_cell
from maintenance.models import Forecast, Recommendation
from tests.clock import TODAY
from tests.factories import (
    BECAUSE,
    CleaningFactory,
    CrewFactory,
    InfiltrationTestFactory,
    LayerFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
    VisitFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db
LIST = reverse("maintenance:surface-list")
FORMULA_LIKE = ["=1+1", "+49 89", "-A-", "@home", '=HYPERLINK("http://x.example","y")']


def forecast_of(surface, **values):
    made = {"made_from_version": 1, "made_on": TODAY, "surface_state": "watch"}
    return Forecast.objects.create(surface=surface, **made | values)


def names_in(response):
    return [row.record.name for row in response.context["table"].rows]


def exported(client, kind, **query):
    body = client.get(LIST, {"export": kind, **query}).getvalue()
    if kind == "csv":
        return list(csv.reader(io.StringIO(body.decode())))
    sheet = openpyxl.load_workbook(io.BytesIO(body)).active
    return [list(row) for row in sheet.iter_rows(values_only=True)]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_an_export_holds_the_numbers_with_units_in_the_headers(client, firm, kind):
    forecast_of(firm.surface, rate_now_mm_h=512.345678, share_below_now=0.123456)
    client.force_login(firm.viewer)

    header, row = exported(client, kind)

    assert header[3:7] == ["Area (m²)", "State", "Rate now, estimated (mm/h)", "Limit (mm/h)"]
    assert row[0] == firm.surface.name
    assert [float(row[3]), float(row[5]), float(row[7])] == [1000.0, 512.3457, 0.1235]
    assert row[4] == "watch"


def test_an_export_follows_the_persons_units(client, firm):
    firm.viewer.units = "us"
    firm.viewer.save()
    client.force_login(firm.viewer)

    header, row = exported(client, "csv")

    assert header[3] == "Area (ft²)"
    assert float(row[3]) == pytest.approx(1000.0 / 0.09290304, abs=1e-4)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("name", FORMULA_LIKE)
def test_no_name_becomes_a_formula_in_a_spreadsheet(client, firm, kind, name):
    firm.surface.name = name
    firm.surface.save()
    client.force_login(firm.viewer)

    _, row = exported(client, kind)

    assert row[0] == f"'{name}"


def test_no_site_name_becomes_a_formula_either(client, firm):
    firm.site.name = "=1+1"
    firm.site.save()
    client.force_login(firm.viewer)

    assert exported(client, "csv")[1][1] == "'=1+1"


def test_characters_that_a_spreadsheet_cannot_hold_are_left_out(client, firm):
    firm.surface.name = "Yard\x0b\x1f 1"
    firm.surface.save()
    client.force_login(firm.viewer)

    assert exported(client, "xlsx")[1][0] == "Yard 1"


def test_numbers_stay_numbers_in_an_export():
    assert [plain_cell(value) for value in (-1.5, 0, None, "")] == [-1.5, 0, None, ""]


def test_an_export_is_not_cut_off_at_a_page(client, firm):
    SurfaceFactory.create_batch(60, site=firm.site)
    client.force_login(firm.viewer)

    assert len(exported(client, "csv")) == 62


def test_an_export_keeps_the_filter(client, firm):
    SurfaceFactory(site=firm.site, name="Bus lane")
    client.force_login(firm.viewer)

    assert [row[0] for row in exported(client, "csv", q="bus")[1:]] == ["Bus lane"]


def test_an_unknown_kind_of_export_gives_the_page(client, firm):
    client.force_login(firm.viewer)

    assert "text/html" in client.get(LIST, {"export": "yaml"})["Content-Type"]


@pytest.mark.parametrize("words", ["bus", "BUS lane", "lane harbour", "trust"])
def test_words_find_a_surface_by_its_name_site_or_owner(client, firm, words):
    site = SiteFactory(owner__organisation=firm.organisation, owner__name="School Trust", name="Harbour")
    SurfaceFactory(site=site, name="Bus lane")
    client.force_login(firm.viewer)

    assert names_in(client.get(LIST, {"q": words})) == ["Bus lane"]


@pytest.mark.parametrize("signs", ["-", " . , ", "%", "_", "’"])
def test_signs_that_make_no_word_find_nothing(client, firm, signs):
    client.force_login(firm.viewer)

    found = client.get(LIST, {"q": signs})

    assert names_in(found) == []
    assert "0 surfaces" in found.content.decode()


def test_the_first_eight_words_are_looked_for(client, firm):
    SurfaceFactory(site=firm.site, name="a1 b2 c3 d4 e5 f6 g7 h8")
    client.force_login(firm.viewer)

    assert len(names_in(client.get(LIST, {"q": "a1 b2 c3 d4 e5 f6 g7 h8 nowhere"}))) == 1
    assert names_in(client.get(LIST, {"q": "a1 b2 c3 d4 e5 f6 g7 nowhere"})) == []


def test_the_first_pages_count_of_untested_surfaces_leads_to_as_many(client, firm):
    """A surface whose forecast is still to be made counts as not tested, in the count and in the list."""
    forecast_of(SurfaceFactory(site=firm.site), surface_state="not_tested")
    forecast_of(SurfaceFactory(site=firm.site), surface_state="watch")
    client.force_login(firm.viewer)
    counts = {key: n for key, _, n in client.get(reverse("reporting:start")).context["todo"].states}

    listed = names_in(client.get(LIST, {"state": "not_tested"}))

    assert len(listed) == counts["not_tested"] == 2


@pytest.mark.parametrize(("sort", "first"), [("below", "low"), ("-below", "high")])
def test_surfaces_without_a_forecast_come_last_either_way(client, firm, sort, first):
    firm.surface.name = "none yet"
    firm.surface.save()
    forecast_of(SurfaceFactory(site=firm.site, name="low"), share_below_now=0.1)
    forecast_of(SurfaceFactory(site=firm.site, name="high"), share_below_now=0.9)
    client.force_login(firm.viewer)

    names = names_in(client.get(LIST, {"sort": sort}))

    assert (names[0], names[-1]) == (first, "none yet")


@pytest.mark.parametrize(
    "query",
    [
        {"site": "not-an-id"},
        {"site": "00000000-0000-4000-8000-000000000000"},
        {"surface_type": "lawn"},
        {"state": "fine"},
        {"q": "x" * 5000},
        {"q": "%_\\' OR 1=1 --"},
        {"sort": "password"},
        {"sort": "site__organisation__name"},
        {"page": "-1"},
        {"page": "x"},
        {"page": "999999999999999999999"},
        {"per_page": "0"},
        {"per_page": "-1"},
        {"per_page": "1000000"},
        {"per_page": "x"},
    ],
    ids=str,
)
def test_a_nonsense_address_still_gives_the_page(client, firm, query):
    client.force_login(firm.viewer)

    assert client.get(LIST, query).status_code == 200


def test_a_page_holds_fifty_rows_whatever_the_address_asks(client, firm):
    SurfaceFactory.create_batch(60, site=firm.site)
    client.force_login(firm.viewer)

    table = client.get(LIST, {"per_page": "1000"}).context["table"]

    assert len(table.page.object_list) == 50


def fill(firm):
    """One more surface with everything that lists and reports show of it."""
    surface = SurfaceFactory(site=firm.site)
    forecast_of(surface, share_below_now=0.2, rate_now_mm_h=500.0)
    LayerFactory(surface=surface)
    InfiltrationTestFactory(round=RoundFactory(surface=surface, recorded_by=firm.technician))
    CleaningFactory(surface=surface, recorded_by=firm.technician)
    Recommendation.objects.create(
        surface=surface, action="test", due_on=TODAY, earliest_on=TODAY, currency="EUR", grounds=BECAUSE
    )
    crew = CrewFactory(organisation=firm.organisation)
    VisitTaskFactory(visit=VisitFactory(crew=crew, visit_on=TODAY + timedelta(days=3)), surface=surface)


def pages_of(firm):
    return {
        "surfaces": LIST,
        "to do": reverse("reporting:start"),
        "visits": reverse("planning:visit-list"),
        "reports": reverse("reporting:report-list"),
        "report": reverse("reporting:report-site", args=[firm.site.pk]) + "?since=2020-01-01",
        "site": reverse("reporting:site-detail", args=[firm.site.pk]),
    }


PLACES_OF = {
    "viewer": ("surfaces", "to do", "visits", "reports", "report", "site"),
    "owner_person": ("surfaces", "to do", "reports", "report", "site"),  # visits are the firm's own affair
}


@pytest.mark.parametrize(
    ("person", "place"), [(person, place) for person, places in PLACES_OF.items() for place in places]
)
def test_a_list_asks_the_database_as_often_for_20_rows_as_for_1(
    client, firm, place, person, django_assert_num_queries, django_assert_max_num_queries
):
    client.force_login(getattr(firm, person))
    fill(firm)
    url = pages_of(firm)[place]
    client.get(url)  # a first visit notes in the session what was opened
    with django_assert_max_num_queries(40) as for_one:
        client.get(url)
    for _ in range(19):
        fill(firm)

    with django_assert_num_queries(len(for_one)):
        response = client.get(url)

    assert response.status_code == 200
