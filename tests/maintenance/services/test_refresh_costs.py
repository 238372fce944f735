"""What a refresh asks the database: few queries for one surface, and no more to read for ten."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clogging import api
from core.services import batches, jobs
from maintenance.models import Forecast, PortfolioFit, Recommendation
from maintenance.selectors.fits import YOUNG_PORTFOLIO
from maintenance.services import forecasts
from maintenance.services.forecast_inputs import gather
from qa.models import Surface
from qa.services.changes import bump_record_version
from tests.clock import TODAY
from tests.factories import CleaningFactory, InfiltrationTestFactory, RoundFactory, SurfaceFactory

pytestmark = pytest.mark.django_db
LABEL = "maintenance.Forecast"
TRANSACTIONS = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
# Job and claim, surface, fit, terms and tests; then the forecast, the advice twice, and whether all is still as it was.
MOST = 10
MOST_YOUNG = MOST + 1  # the surfaces of the firm
MOST_FURTHER = 5  # in a batch, where each is begun, stored and looked at by itself


@pytest.fixture
def site():
    """A site of a grown firm, whose fit is stored."""
    site = SurfaceFactory().site
    PortfolioFit.objects.create(
        organisation=site.organisation,
        state="done",
        result=api.prior_fit().to_dict(),
        surfaces=YOUNG_PORTFOLIO + 1,
        finished_at="2026-06-01T00:00Z",
    )
    return site


def measured(site):
    surface = SurfaceFactory(site=site)
    for elapsed_s in (300.0, 900.0):
        InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=TODAY), elapsed_s=elapsed_s)
    assert forecasts.refresh(surface.pk) == "done"
    return surface


def asked_by(act):
    with CaptureQueriesContext(connection) as caught:
        act()
    return [query["sql"] for query in caught if not query["sql"].startswith(TRANSACTIONS)]


def record(*surfaces):
    for surface in surfaces:
        bump_record_version(surface.pk)
        Forecast.objects.filter(surface=surface).update(state="waiting", started_at=None)


def refreshed(surface):
    record(surface)
    pk = surface.forecast.pk
    asked = asked_by(lambda: jobs.run(LABEL, pk))
    assert (
        Forecast.objects.get(surface=surface).made_from_version
        == Surface.objects.get(pk=surface.pk).record_version
    )
    return asked


def test_a_single_reading_costs_few_queries(site):
    surface = measured(site)
    assert Recommendation.objects.filter(surface=surface, status="open").exists()

    asked = refreshed(surface)

    assert len(asked) <= MOST, "\n".join(q[:100] for q in asked)


def test_of_a_young_firm_too(site):
    surface = measured(site)
    PortfolioFit.objects.all().delete()
    refreshed(surface)  # with other parameters other advice is given

    asked = refreshed(surface)

    assert len(asked) <= MOST_YOUNG, "\n".join(q[:100] for q in asked)


def test_a_cleaned_surface_asks_for_its_cleanings_alone_besides(site):
    surface = measured(site)
    CleaningFactory(surface=surface, cleaned_on=TODAY)
    refreshed(surface)

    asked = refreshed(surface)

    assert len(asked) <= MOST + 1, asked


def test_ten_surfaces_are_read_by_as_many_queries_as_one(site):
    surfaces = [measured(site) for _ in range(10)]
    rows = list(Forecast.objects.filter(surface__in=surfaces))

    one, ten = asked_by(lambda: gather(rows[:1])), asked_by(lambda: gather(rows))

    assert len(one) == len(ten)


def test_each_further_surface_of_a_batch_costs_what_is_written_of_it(site):
    surfaces = [measured(site) for _ in range(5)]
    record(surfaces[0])
    one = asked_by(lambda: batches.run_batch(LABEL))
    record(*surfaces)

    five = asked_by(lambda: batches.run_batch(LABEL))

    assert not Forecast.objects.wanted().exclude(surface__forecast=None).filter(surface__in=surfaces).exists()
    assert len(five) - len(one) <= 4 * MOST_FURTHER
