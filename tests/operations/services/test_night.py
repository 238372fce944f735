"""A whole night by the clock, in one process: each forecast is made once, with the fit of the night."""

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.utils.timezone import now

from core.errors import ImpossibleRecordError
from core.services import jobs
from maintenance.models import Forecast, PortfolioFit
from maintenance.services import fits, forecasts, nights
from operations.services.scheduler import Scheduler, run_task
from tests.factories import InfiltrationTestFactory, RoundFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db
EVENING = datetime(2026, 6, 10, 20, 0, tzinfo=UTC)
NIGHT = date(2026, 6, 11)
TURN = timedelta(minutes=30)


@pytest.fixture(autouse=True)
def grown(monkeypatch):
    """Every portfolio counts as grown, so that forecasts rest on the stored fit."""
    monkeypatch.setattr("maintenance.selectors.fits.YOUNG_PORTFOLIO", 0)


@pytest.fixture
def made(monkeypatch):
    """How often the forecast of each surface was computed, or brought to the day where nothing else had changed."""
    counts, think, end = Counter(), forecasts.compute_forecast, nights.finish_together

    def counted(known):
        counts[known.surface.pk] += 1
        return think(known)

    def ended(own, alike):
        held = end(own, alike)
        counts.update(claim.job.surface_id for claim in held)
        return held

    monkeypatch.setattr(forecasts, "compute_forecast", counted)
    monkeypatch.setattr(nights, "finish_together", ended)
    return counts


@pytest.fixture
def fits_anew(monkeypatch):
    """No night keeps the parameters of the last."""
    monkeypatch.setattr(fits, "MOST_NEW", -1.0)


@pytest.fixture
def until(django_capture_on_commit_callbacks):
    """Let the time pass to a moment, with a turn of the scheduler every half hour."""
    clock = time_machine.travel(EVENING, tick=False)
    traveller = clock.start()
    scheduler = Scheduler(run_task)

    def pass_to(moment):
        while now() < moment:
            traveller.shift(TURN)
            with django_capture_on_commit_callbacks(execute=True):
                scheduler.turn()

    yield pass_to
    clock.stop()


@pytest.fixture
def surfaces(until, made):
    """Three surfaces of a firm, in zones whose days turn at other hours, forecast in the evening after a fit."""
    first = SurfaceFactory(site__time_zone="Europe/Berlin")
    west = SiteFactory(owner=first.site.owner, time_zone="Pacific/Pago_Pago")
    east = SiteFactory(owner=first.site.owner, time_zone="Pacific/Auckland")
    all_three = [first, SurfaceFactory(site=west), SurfaceFactory(site=east)]
    for surface in all_three:
        InfiltrationTestFactory(round=RoundFactory(surface=surface))
    fits.run_fit(PortfolioFit.objects.create(organisation=first.organisation, night=EVENING.date()).pk)
    for surface in all_three:
        forecasts.refresh(surface.pk)
    made.clear()
    return all_three


MORNING = EVENING + timedelta(hours=10)
NEXT_EVENING = EVENING + timedelta(hours=24)


def once_each(surfaces):
    return {surface.pk: 1 for surface in surfaces}


def fit_of_the_night():
    return PortfolioFit.objects.get(night=NIGHT)


@pytest.mark.parametrize("parameters", ["kept", "made anew"])
def test_a_night_and_the_day_after_it_make_each_forecast_once_with_the_nights_fit(
    request, surfaces, made, until, parameters
):
    if parameters == "made anew":
        request.getfixturevalue("fits_anew")

    until(NEXT_EVENING)

    assert made == once_each(surfaces)
    assert {f.after_fit for f in Forecast.objects.all()} == {fit_of_the_night()}
    assert {f.rests_on for f in Forecast.objects.all()} == {"records"}


def test_before_the_night_nothing_is_made_anew_though_days_turn(surfaces, made, until):
    until(datetime(2026, 6, 11, 2, 0, tzinfo=UTC))

    assert made == {}


def test_what_is_asked_for_beside_the_night_is_counted_too(surfaces, made, until):
    """The control: the count would see a forecast that is made twice."""
    jobs.requeue(Forecast.objects.all())

    until(MORNING)

    assert made == {surface.pk: 2 for surface in surfaces}


@pytest.fixture
def deaf_until(monkeypatch):
    """Let no fit through before a moment, as when no worker has come round to it."""
    deliver = jobs._deliver[0]

    def hold_back(moment):
        def late(label, pk):
            if label != "maintenance.PortfolioFit" or now() >= moment:
                deliver(label, pk)

        monkeypatch.setattr(jobs, "_deliver", [late])

    return hold_back


def test_a_fit_that_ends_late_is_waited_for_by_every_forecast(surfaces, made, until, deaf_until):
    late = datetime(2026, 6, 11, 5, 0, tzinfo=UTC)
    deaf_until(late)

    until(late - TURN)
    before = dict(made)
    until(MORNING)

    assert before == {}
    assert made == once_each(surfaces)
    assert {f.after_fit for f in Forecast.objects.all()} == {fit_of_the_night()}


@pytest.mark.parametrize(
    ("error", "said"),
    [(ImpossibleRecordError("Rate 0."), "Rate 0."), (MemoryError("9 GB"), PortfolioFit.GIVEN_UP)],
    ids=["refused", "crashed"],
)
def test_a_firm_whose_fit_fails_gets_each_forecast_once_with_the_last_good_one(
    surfaces, made, until, fits_anew, monkeypatch, error, said
):
    def fail(histories):
        raise error

    monkeypatch.setattr(fits.api, "fit_portfolio", fail)

    until(MORNING)

    assert (fit_of_the_night().state, fit_of_the_night().error) == ("failed", said)
    assert made == once_each(surfaces)
    assert {f.rests_on for f in Forecast.objects.all()} == {"records"}


def test_a_worker_that_dies_over_the_fit_costs_no_forecast(surfaces, made, until, deaf_until):
    """Nobody ends it: it is given up by the sweep, and the forecasts are made with the last good fit."""
    deaf_until(datetime(2026, 6, 12, tzinfo=UTC))
    until(datetime(2026, 6, 11, 2, 30, tzinfo=UTC))
    PortfolioFit.objects.filter(night=NIGHT).update(
        state="running", attempts=PortfolioFit.MOST_ATTEMPTS, lease_until=now()
    )

    until(MORNING)

    assert fit_of_the_night().error == PortfolioFit.GIVEN_UP
    assert made == once_each(surfaces)


def test_a_server_started_again_in_the_night_does_not_repeat_it(surfaces, made, until):
    until(datetime(2026, 6, 11, 3, 0, tzinfo=UTC))
    again = Scheduler(run_task)

    done = again.turn()

    assert done == [
        "begin the night",
        "make the backup",
        "begin price lists",
        "return what was put off",
        "propose reports",
        "tell of a missing backup",
        "tell of failures",
        "send daily mails",
        "renew the statistics of tables",
        "give a sign of life",
        "send again what was left",
    ]
    assert made == once_each(surfaces)
    assert PortfolioFit.objects.filter(night=NIGHT).count() == 1
