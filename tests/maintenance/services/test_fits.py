"""Portfolio fits: asked for once, stored, failures in words, another edition's replaced."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from clogging import api
from core.errors import ImpossibleRecordError
from core.services.jobs import Outcome
from maintenance import tasks
from maintenance.models import Forecast, PortfolioFit
from maintenance.selectors.fits import stored_fit
from maintenance.services import fits, forecasts
from tests.factories import InfiltrationTestFactory, OrganisationFactory, RoundFactory, SurfaceFactory

pytestmark = pytest.mark.django_db
NIGHT = date(2026, 6, 10)


@pytest.fixture
def surface():
    surface = SurfaceFactory()
    InfiltrationTestFactory(round=RoundFactory(surface=surface))
    return surface


@pytest.fixture
def sent(monkeypatch):
    """Collects the fits that were sent, instead of running them."""
    ids = []
    monkeypatch.setattr(fits.jobs, "nudge", lambda fit: ids.append(fit.pk))
    return ids


def ask(organisation):
    return PortfolioFit.objects.create(organisation=organisation)


def done(organisation, **columns):
    """A fit that was made, as this edition of the model stores it."""
    made = {"state": "done", "finished_at": now(), "result": api.prior_fit().to_dict()}
    return PortfolioFit.objects.create(organisation=organisation, **made | columns)


def outdated(organisation, **change):
    return done(organisation, result=api.prior_fit().to_dict() | {"schema": 0} | change)


def test_a_fit_is_stored_and_used_for_the_firms_forecasts(surface, django_capture_on_commit_callbacks):
    Forecast.objects.create(surface=surface)
    fit = ask(surface.organisation)

    with django_capture_on_commit_callbacks(execute=True):
        outcome = fits.run_fit(fit.pk)

    fit.refresh_from_db()
    surface.forecast.refresh_from_db()
    assert (outcome, fit.state, fit.surfaces, fit.tests) == (Outcome.DONE, "done", 1, 1)
    assert stored_fit(surface.organisation).parameters.n_tests == 1
    assert (surface.forecast.after_fit, surface.forecast.rests_on) == (fit, "records")


def test_a_fit_delivered_twice_runs_once(surface):
    fit = ask(surface.organisation)
    fits.run_fit(fit.pk)
    finished_at = PortfolioFit.objects.get().finished_at

    outcome = fits.run_fit(fit.pk)

    assert outcome is Outcome.FRESH
    assert PortfolioFit.objects.get().finished_at == finished_at


def test_a_firm_without_surfaces_can_be_fitted():
    assert fits.run_fit(ask(OrganisationFactory()).pk) is Outcome.DONE


def test_data_never_cross_from_one_firm_to_another(surface):
    stranger = InfiltrationTestFactory().round.surface

    fits.run_fit(ask(stranger.organisation).pk)

    assert PortfolioFit.objects.get().tests == 1
    assert stored_fit(surface.organisation).parameters.n_tests == 0


def test_a_fit_that_cannot_be_made_says_why_and_the_last_good_one_is_kept(surface, monkeypatch):
    good, bad = ask(surface.organisation), None
    fits.run_fit(good.pk)
    bad = ask(surface.organisation)

    def refuse(histories):
        raise ImpossibleRecordError("Surface 1: rate 0 at test 3.")

    monkeypatch.setattr(fits.api, "fit_portfolio", refuse)

    outcome = fits.run_fit(bad.pk)

    bad.refresh_from_db()
    assert (outcome, bad.state, bad.error) == (Outcome.FAILED, "failed", "Surface 1: rate 0 at test 3.")
    assert PortfolioFit.objects.newest_done(surface.organisation) == good


def test_a_fit_that_crashes_is_tried_again_and_given_up_without_its_innards(surface, monkeypatch):
    fit = ask(surface.organisation)

    def crash(histories):
        raise MemoryError("array of 9 GB")

    monkeypatch.setattr(fits.api, "fit_portfolio", crash)
    for _ in range(PortfolioFit.MOST_ATTEMPTS):
        with pytest.raises(MemoryError):
            fits.run_fit(fit.pk)

    fit.refresh_from_db()
    assert (fit.state, fit.error) == ("failed", PortfolioFit.GIVEN_UP)
    assert f"{PortfolioFit.MOST_ATTEMPTS} times" in PortfolioFit.GIVEN_UP


def test_a_worker_that_lost_its_claim_stays_silent(surface, monkeypatch):
    fit = ask(surface.organisation)
    work = fits.api.fit_portfolio

    def overtaken(histories):
        PortfolioFit.objects.filter(pk=fit.pk).update(claim_number=9)
        return work(histories)

    monkeypatch.setattr(fits.api, "fit_portfolio", overtaken)

    assert fits.run_fit(fit.pk) is Outcome.LOST
    fit.refresh_from_db()
    assert (fit.state, fit.result) == ("running", None)


def test_a_fit_says_how_far_it_is(surface, monkeypatch):
    fit, read = ask(surface.organisation), []
    work = fits.api.fit_portfolio

    def watched(histories):
        fit.refresh_from_db()
        read.append((fit.progress_done, fit.progress_total, fit.progress_word))
        return work(histories)

    monkeypatch.setattr(fits.api, "fit_portfolio", watched)

    fits.run_fit(fit.pk)

    assert read == [(1, 3, "fitting 1 surface")]


def test_asking_twice_waits_for_one_fit(surface):
    first = fits.request_fit(organisation=surface.organisation)

    assert fits.request_fit(organisation=surface.organisation) == first


def test_a_fit_at_work_may_have_read_the_records_before_they_changed_so_a_new_one_is_made(surface):
    running = PortfolioFit.objects.create(organisation=surface.organisation, state="running")

    assert fits.request_fit(organisation=surface.organisation) != running


def test_the_night_asks_for_every_firm_that_has_surfaces(surface, sent):
    OrganisationFactory()

    count = fits.request_nightly_fits(NIGHT)

    assert (count, len(sent)) == (1, 1)
    assert PortfolioFit.objects.get().night == NIGHT


def test_a_night_begun_twice_makes_one_fit(surface, sent):
    fits.request_nightly_fits(NIGHT)
    fits.run_fit(sent[0])

    count = fits.request_nightly_fits(NIGHT)

    assert (count, PortfolioFit.objects.count()) == (0, 1)
    assert fits.request_fit(organisation=surface.organisation, night=NIGHT).pk == sent[0]


def test_the_next_night_makes_the_next_fit(surface, sent):
    fits.request_nightly_fits(NIGHT)
    fits.run_fit(sent[0])

    fits.request_nightly_fits(NIGHT + timedelta(days=1))

    assert PortfolioFit.objects.count() == 2


def test_a_fit_that_was_asked_for_and_waits_becomes_that_of_the_night(surface, sent):
    waiting = fits.request_fit(organisation=surface.organisation)

    fits.request_nightly_fits(NIGHT)

    waiting.refresh_from_db()
    assert (PortfolioFit.objects.count(), waiting.night) == (1, NIGHT)


def test_the_task_of_the_night_asks_for_that_of_today(surface):
    assert tasks.start_night() == 1
    assert PortfolioFit.objects.get().night == now().date()


def test_old_fits_are_forgotten_but_the_newest_is_kept(surface, monkeypatch):
    monkeypatch.setattr(fits, "KEEP_FITS", 2)

    for _ in range(4):
        fits.run_fit(ask(surface.organisation).pk)

    assert PortfolioFit.objects.count() == 2
    assert stored_fit(surface.organisation).parameters.n_tests == 1


@pytest.fixture
def grown(monkeypatch):
    """Every portfolio counts as grown, so that forecasts rest on the stored fit."""
    monkeypatch.setattr("maintenance.selectors.fits.YOUNG_PORTFOLIO", 0)


BROKEN = {
    "another schema": {},
    "other parameters": {"schema": fits.SCHEMA, "names": ["mu"]},
    "no mode": {"schema": fits.SCHEMA, "mode": []},
}


@pytest.mark.parametrize("change", BROKEN.values(), ids=BROKEN)
@pytest.mark.usefixtures("grown")
def test_with_an_outdated_fit_forecasts_fall_back_to_published_figures(surface, sent, change):
    outdated(surface.organisation, **change)

    outcome = forecasts.refresh(surface.pk)

    forecast = Forecast.objects.get(surface=surface)
    assert (outcome, forecast.error, forecast.rests_on) == (Outcome.DONE, "", "outdated")
    assert forecast.rate_now_mm_h > 0


@pytest.mark.usefixtures("grown")
def test_a_new_fit_is_asked_for_once_and_not_once_a_surface(surface, sent):
    others = SurfaceFactory.create_batch(3, site=surface.site)
    outdated(surface.organisation)

    for each in (surface, *others):
        forecasts.refresh(each.pk)

    waiting = PortfolioFit.objects.filter(state="waiting")
    assert [fit.pk for fit in waiting] == [pk for pk in sent if waiting.filter(pk=pk).exists()]


@pytest.mark.usefixtures("grown")
def test_a_new_fit_that_fails_too_is_not_asked_for_again_and_again(surface, sent):
    outdated(surface.organisation)
    PortfolioFit.objects.create(organisation=surface.organisation, state="failed", finished_at=now())

    forecasts.refresh(surface.pk)

    assert not PortfolioFit.objects.filter(state="waiting").exists()


@pytest.mark.usefixtures("grown")
def test_whoever_finds_it_outdated_late_asks_for_no_second_new_fit(surface, sent):
    old = outdated(surface.organisation)
    done(surface.organisation)

    assert fits.replace_outdated_fit(outdated=old) is None
    assert not PortfolioFit.objects.filter(state="waiting").exists()


@pytest.mark.usefixtures("grown")
def test_once_the_new_fit_is_made_everything_is_right_by_itself(
    client, firm, django_capture_on_commit_callbacks
):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface))
    outdated(firm.organisation)

    with django_capture_on_commit_callbacks(execute=True):
        forecasts.refresh(firm.surface.pk)

    forecast = Forecast.objects.get(surface=firm.surface)
    newest = PortfolioFit.objects.newest_done(firm.organisation)
    client.force_login(firm.viewer)
    assert (forecast.rests_on, forecast.after_fit) == ("records", newest)
    assert "older edition" not in client.get(firm.surface.get_absolute_url()).content.decode()
    assert "older edition" not in client.get(reverse("maintenance:calibration")).content.decode()


@pytest.mark.usefixtures("grown")
def test_the_pages_say_that_the_fit_is_outdated_instead_of_failing(client, firm, sent):
    outdated(firm.organisation)
    forecasts.refresh(firm.surface.pk)
    client.force_login(firm.viewer)

    surface = client.get(firm.surface.get_absolute_url())
    calibration = client.get(reverse("maintenance:calibration"))

    assert (surface.status_code, calibration.status_code) == (200, 200)
    assert "This forecast is based on published figures only for now" in surface.content.decode()
    assert "could not be made from this record" not in surface.content.decode()
    assert "stored by an older edition" in calibration.content.decode()
    assert "The model will soon learn from your records" in calibration.content.decode()


def test_the_sweep_replaces_an_outdated_fit_before_anybody_meets_it(surface, sent):
    outdated(surface.organisation)
    current = done(SurfaceFactory().organisation)

    count = fits.replace_outdated_fits()

    assert (count, len(sent)) == (1, 1)
    assert PortfolioFit.objects.get(state="waiting").organisation == surface.organisation
    assert current.organisation != surface.organisation


def test_a_fit_without_a_schema_is_outdated_too(surface, sent):
    done(surface.organisation, result={"mode": [0.0]})

    assert fits.replace_outdated_fits() == 1


def test_an_outdated_fit_that_a_newer_one_follows_is_left_alone(surface, sent):
    outdated(surface.organisation)
    done(surface.organisation)

    assert fits.replace_outdated_fits() == 0


def test_the_page_shows_how_far_a_running_fit_is(client, firm):
    PortfolioFit.objects.create(
        organisation=firm.organisation,
        state="running",
        progress_done=1,
        progress_total=3,
        progress_word="fitting 42 surfaces",
    )
    client.force_login(firm.viewer)

    page = " ".join(client.get(reverse("maintenance:calibration")).content.decode().split())

    assert "step 2 of 3, fitting 42 surfaces" in page
    assert 'value="1" max="3"' in page
    assert f'data-ask-again="{reverse("maintenance:fit-progress")}"' in page


@pytest.mark.parametrize(
    ("columns", "asks_on", "said"),
    [
        ({"state": "running"}, True, "The model will soon learn"),
        ({"state": "waiting", "error": PortfolioFit.TRIED_AGAIN}, True, "The fit failed and is tried again."),
        ({"state": "done", "tests": 12, "surfaces": 4, "finished_at": now()}, False, "12 tests on 4 surfaces"),
        (
            {"state": "failed", "error": "Rate 0.", "finished_at": now()},
            False,
            "could not learn from your records. Rate"),
    ],
)  # fmt: skip
def test_the_page_asks_on_while_a_fit_is_made_and_no_longer(client, firm, columns, asks_on, said):
    PortfolioFit.objects.create(organisation=firm.organisation, **columns)
    client.force_login(firm.viewer)

    part = client.get(reverse("maintenance:fit-progress"))

    assert ("data-unfinished" in part.content.decode()) is asks_on
    assert said in part.content.decode()


def test_the_progress_of_another_firm_is_not_shown(client, firm):
    PortfolioFit.objects.create(organisation=OrganisationFactory(), state="running")
    client.force_login(firm.viewer)

    part = client.get(reverse("maintenance:fit-progress"))

    assert "data-unfinished" not in part.content.decode()
    assert "The model has not been updated from your records yet" in part.content.decode()
