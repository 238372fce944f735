"""Telling of a limit: when a surface stands worse than before, once for what the record says."""

import pytest

from accounts.models import Notice
from maintenance.calc.vocabulary import SurfaceState
from maintenance.models import Forecast
from maintenance.services import forecasts
from maintenance.services.limit_notices import is_news
from qa.services.changes import bump_record_version
from tests.factories import InfiltrationTestFactory, RoundFactory

FALLS = [
    (SurfaceState.DRAINING, SurfaceState.CLEAN_SOON),
    (SurfaceState.WATCH, SurfaceState.BELOW_LIMIT),
    (SurfaceState.NOT_TESTED, SurfaceState.BELOW_LIMIT),
    (SurfaceState.CLEAN_SOON, SurfaceState.BELOW_LIMIT),
]


@pytest.mark.parametrize("before", list(SurfaceState))
@pytest.mark.parametrize("after", list(SurfaceState))
def test_only_what_is_worse_and_at_the_limit_or_near_it_is_news(before, after):
    known = {
        *FALLS,
        (SurfaceState.WATCH, SurfaceState.CLEAN_SOON),
        (SurfaceState.DRAINING, SurfaceState.BELOW_LIMIT),
    }
    known.add((SurfaceState.NOT_TESTED, SurfaceState.CLEAN_SOON))

    assert is_news(before, after) == ((before, after) in known)


@pytest.fixture
def clogged(firm):
    """A surface whose tests say that it is far below its limit; its forecast was made before they were known."""
    Forecast.objects.filter(surface=firm.surface).delete()
    forecasts.refresh(firm.surface.pk)
    for _ in range(3):
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), elapsed_s=20_000.0)
    bump_record_version(firm.surface.pk)
    return firm.surface


def test_a_test_below_the_limit_is_told_with_the_chance_and_no_rate(firm, clogged):
    forecasts.refresh(clogged.pk)

    forecast = Forecast.objects.get(surface=clogged)
    assert forecast.surface_state == SurfaceState.BELOW_LIMIT
    told = Notice.objects.filter(about_id=clogged.pk)
    assert {notice.user for notice in told} == {firm.coordinator, firm.admin}
    assert "%" in told[0].text
    assert "mm" not in told[0].text


def test_made_anew_by_the_night_it_is_not_told_again(firm, clogged):
    forecasts.refresh(clogged.pk)
    forecasts.force_refresh(surface=clogged)
    Forecast.objects.update(surface_state=SurfaceState.DRAINING)  # as a fit between may have seen it
    forecasts.refresh(clogged.pk)

    assert Notice.objects.filter(user=firm.admin).count() == 1


def test_the_first_forecast_of_a_surface_that_was_taken_in_tells_nothing(firm):
    Forecast.objects.filter(surface=firm.surface).delete()
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), elapsed_s=20_000.0)

    forecasts.refresh(firm.surface.pk)

    assert not Notice.objects.exists()


def test_a_forecast_whose_worker_lost_its_hold_tells_nothing(firm, clogged, monkeypatch):
    think = forecasts.compute_forecast

    def interrupted(known):
        outcome = think(known)
        Forecast.objects.filter(surface=clogged).update(claim_number=99)
        return outcome

    monkeypatch.setattr(forecasts, "compute_forecast", interrupted)
    forecasts.refresh(clogged.pk)

    assert not Notice.objects.exists()
