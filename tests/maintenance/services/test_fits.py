"""Portfolio fits: one at a time, safe to deliver twice, failures stored."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from core.errors import ImpossibleRecordError
from maintenance import tasks
from maintenance.models import PortfolioFit
from maintenance.services import fits, forecasts
from tests.factories import InfiltrationTestFactory, OrganisationFactory, RoundFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def surface():
    surface = SurfaceFactory()
    InfiltrationTestFactory(round=RoundFactory(surface=surface))
    return surface


@pytest.fixture
def sent(monkeypatch):
    """Collects the fits that were sent, instead of running them."""
    ids = []
    monkeypatch.setattr(fits, "_send", ids.append)
    return ids


def left_running(organisation, attempts):
    return PortfolioFit.objects.create(
        organisation=organisation, state="running", attempts=attempts, claimed_at=now() - fits.LEASE * 2
    )


def test_a_fit_is_stored_and_used_for_the_firms_forecasts(surface):
    fit = PortfolioFit.objects.create(organisation=surface.organisation)

    outcome = fits.run_fit(fit.pk)

    fit.refresh_from_db()
    assert (outcome, fit.state, fit.surfaces, fit.tests) == ("done", "done", 1, 1)
    assert forecasts.fit_for(surface.organisation).n_tests == 1
    assert surface.forecast.made_on is not None


def test_a_fit_delivered_twice_runs_once(surface):
    fit = PortfolioFit.objects.create(organisation=surface.organisation)
    fits.run_fit(fit.pk)
    finished_at = PortfolioFit.objects.get().finished_at

    outcome = fits.run_fit(fit.pk)

    assert outcome == "not ours"
    assert PortfolioFit.objects.get().finished_at == finished_at


def test_a_firm_without_surfaces_can_be_fitted():
    fit = PortfolioFit.objects.create(organisation=OrganisationFactory())

    assert fits.run_fit(fit.pk) == "done"


def test_data_never_cross_from_one_firm_to_another(surface):
    stranger = InfiltrationTestFactory().round.surface
    fit = PortfolioFit.objects.create(organisation=stranger.organisation)

    fits.run_fit(fit.pk)

    assert PortfolioFit.objects.get().tests == 1
    assert forecasts.fit_for(surface.organisation).n_tests == 0


def test_a_failed_fit_says_why_and_the_last_good_one_is_kept(surface, monkeypatch):
    good = PortfolioFit.objects.create(organisation=surface.organisation)
    fits.run_fit(good.pk)
    bad = PortfolioFit.objects.create(organisation=surface.organisation)

    def fail(histories):
        raise ImpossibleRecordError("Surface 1: rate 0 at test 3.")

    monkeypatch.setattr(fits.api, "fit_portfolio", fail)

    with pytest.raises(ImpossibleRecordError, match="rate 0"):
        fits.run_fit(bad.pk)

    bad.refresh_from_db()
    assert (bad.state, bad.error) == ("failed", "Surface 1: rate 0 at test 3.")
    assert PortfolioFit.objects.newest_done(surface.organisation) == good


def test_a_worker_that_lost_its_lease_stays_silent(surface, monkeypatch):
    fit = PortfolioFit.objects.create(organisation=surface.organisation)
    work = fits.api.fit_portfolio

    def overtaken(histories):
        PortfolioFit.objects.filter(pk=fit.pk).update(claimed_at=now() + timedelta(hours=1))
        return work(histories)

    monkeypatch.setattr(fits.api, "fit_portfolio", overtaken)

    assert fits.run_fit(fit.pk) == "lease lost"
    fit.refresh_from_db()
    assert (fit.state, fit.result) == ("running", None)


def test_a_fit_whose_worker_died_is_sent_and_taken_over(surface, sent):
    fit = left_running(surface.organisation, attempts=1)

    fits.requeue_orphaned_fits()

    assert sent == [fit.pk]
    assert fits.run_fit(fit.pk) == "done"


def test_a_fit_still_at_work_is_left_alone(surface, sent):
    fit = PortfolioFit.objects.create(organisation=surface.organisation, state="running", claimed_at=now())

    fits.requeue_orphaned_fits()

    assert sent == []
    assert fits.run_fit(fit.pk) == "not ours"


def test_a_fit_that_kills_every_worker_is_given_up_in_words(surface, sent):
    fit = left_running(surface.organisation, attempts=fits.MOST_ATTEMPTS)

    fits.requeue_orphaned_fits()

    fit.refresh_from_db()
    assert sent == []
    assert (fit.state, fit.error) == ("failed", fits.GIVEN_UP)


def test_asking_twice_waits_for_one_fit(surface):
    first = fits.request_fit(organisation=surface.organisation)

    assert fits.request_fit(organisation=surface.organisation) == first


def test_the_night_asks_for_every_firm_that_has_surfaces(surface, sent, django_capture_on_commit_callbacks):
    OrganisationFactory()

    with django_capture_on_commit_callbacks(execute=True):
        count = tasks.fit_all_portfolios()

    assert (count, len(sent)) == (1, 1)


def test_old_fits_are_forgotten_but_the_newest_is_kept(surface, monkeypatch):
    monkeypatch.setattr(fits, "KEEP_FITS", 2)

    for _ in range(4):
        fits.run_fit(PortfolioFit.objects.create(organisation=surface.organisation).pk)

    assert PortfolioFit.objects.count() == 2
    assert forecasts.fit_for(surface.organisation).n_tests == 1
