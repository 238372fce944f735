"""Forecasts made anew: claimed once, written by the holder alone, never lost."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from core.errors import ImpossibleRecordError
from core.services import jobs
from core.services.jobs import Outcome
from maintenance.models import Forecast, PortfolioFit
from maintenance.models.forecasts import OLDEST
from maintenance.selectors import fits as selectors
from maintenance.services import fits, forecasts
from planning.models import Agreement
from qa.models import Surface
from qa.services.changes import bump_record_version
from tests.clock import TODAY
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
)
from tests.pages import as_shown

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def asked(monkeypatch):
    """Collects the surfaces whose forecasts were to be delivered, instead of working on them."""
    sent = []

    def collect(label, pk):
        if label == "maintenance.Forecast":
            sent.append(Forecast.objects.get(pk=pk).surface_id)

    def collect_batch(label):
        sent.extend(Forecast.objects.wanted().free(now()).values_list("surface_id", flat=True))

    monkeypatch.setattr(jobs, "_deliver", [collect])
    monkeypatch.setattr(jobs, "_deliver_batches", [collect_batch])
    return sent


@pytest.fixture
def tested_surface():
    surface = SurfaceFactory()
    InfiltrationTestFactory(round=RoundFactory(surface=surface))
    return surface


def meanwhile(monkeypatch, act):
    """Run `act` once, in the middle of the work on a forecast."""
    think, acted = forecasts.compute_forecast, []

    def interrupted(known):
        outcome = think(known)
        if not acted:
            acted.append(True)
            acted.append(act())
        return outcome

    monkeypatch.setattr(forecasts, "compute_forecast", interrupted)
    return acted


def test_a_refresh_stores_the_forecast_and_advice(tested_surface):
    InfiltrationTestFactory(round=RoundFactory(surface=tested_surface), elapsed_s=900.0)

    outcome = forecasts.refresh(tested_surface.pk)

    forecast = Forecast.objects.get(surface=tested_surface)
    assert outcome is Outcome.DONE
    assert (forecast.made_from_version, forecast.made_on) == (1, TODAY)
    assert forecast.rate_low_mm_h < forecast.rate_now_mm_h < forecast.rate_high_mm_h
    assert 0 <= forecast.share_below_now <= 1
    assert tested_surface.recommendations.exists()


def test_a_second_delivery_finds_it_fresh(tested_surface, monkeypatch):
    forecasts.refresh(tested_surface.pk)
    monkeypatch.setattr(forecasts, "compute_forecast", None)  # working on it again would fail

    assert forecasts.refresh(tested_surface.pk) is Outcome.FRESH


def test_a_surface_that_is_gone_is_no_error():
    assert forecasts.refresh("00000000-0000-4000-8000-000000000000") is Outcome.GONE


def test_a_forecast_is_made_from_the_record_as_it_is_after_the_claim(tested_surface, monkeypatch):
    """Between the nudge and the work the record changes again: one forecast answers both."""
    Forecast.objects.create(surface=tested_surface)
    take = jobs.take

    def late(job):
        bump_record_version(tested_surface.pk)
        return take(job)

    monkeypatch.setattr(jobs, "take", late)

    forecasts.refresh(tested_surface.pk)

    assert not Forecast.objects.wanted().exists()


def test_a_delivery_during_the_work_is_held_off(tested_surface, monkeypatch):
    acted = meanwhile(monkeypatch, lambda: forecasts.refresh(tested_surface.pk))

    outcome = forecasts.refresh(tested_surface.pk)

    assert (acted[1], outcome) == (Outcome.HELD, Outcome.DONE)


def test_a_worker_that_lost_its_claim_stores_neither_forecast_nor_advice(tested_surface, monkeypatch):
    def another_takes_over():
        Forecast.objects.update(claim_number=9, error="by the other")

    meanwhile(monkeypatch, another_takes_over)

    outcome = forecasts.refresh(tested_surface.pk)

    forecast = Forecast.objects.get(surface=tested_surface)
    assert (outcome, forecast.error, forecast.made_on) == (Outcome.LOST, "by the other", None)
    assert not tested_surface.recommendations.exists()


def test_advice_that_cannot_be_stored_leaves_no_forecast_behind(tested_surface, monkeypatch):
    def fail(**_):
        raise RuntimeError("no room")

    monkeypatch.setattr(forecasts.recommendations, "sync_recommendations", fail)

    with pytest.raises(RuntimeError):
        forecasts.refresh(tested_surface.pk)

    forecast = Forecast.objects.get(surface=tested_surface)
    assert (forecast.state, forecast.made_on, forecast.error) == ("waiting", None, Forecast.TRIED_AGAIN)


def test_a_claim_whose_worker_died_is_taken_over_after_its_lease(tested_surface):
    Forecast.objects.create(
        surface=tested_surface, state="running", claim_number=1, lease_until=now() - Forecast.LEASE
    )

    assert forecasts.refresh(tested_surface.pk) is Outcome.DONE


def test_a_record_that_changed_during_the_work_is_sent_again(
    tested_surface, monkeypatch, asked, django_capture_on_commit_callbacks
):
    def change():
        Surface.objects.update(record_version=7)

    meanwhile(monkeypatch, change)

    with django_capture_on_commit_callbacks(execute=True):
        forecasts.refresh(tested_surface.pk)

    assert asked == [tested_surface.pk]
    assert Forecast.objects.get(surface=tested_surface).is_stale


def refuse(monkeypatch, said="Test 2 lies before the opening; correct its date."):
    def refusing(known):
        raise ImpossibleRecordError(said)

    monkeypatch.setattr(forecasts, "compute_forecast", refusing)


def test_what_the_model_refuses_is_said_on_the_page(client, firm, monkeypatch):
    refuse(monkeypatch)
    client.force_login(firm.viewer)

    outcome = forecasts.refresh(firm.surface.pk)

    page = as_shown(client.get(firm.surface.get_absolute_url()).content.decode())
    start = as_shown(client.get(reverse("reporting:start")).content.decode())
    assert outcome is Outcome.FAILED
    assert "Test 2 lies before the opening; correct its date." in page
    assert "Test 2 lies before the opening" in start


def test_a_refusal_is_an_answer_and_is_not_asked_again_the_same_day(tested_surface, monkeypatch, asked):
    refuse(monkeypatch)
    forecasts.refresh(tested_surface.pk)

    jobs.sweep()

    assert asked == []


def test_refusals_on_many_nights_do_not_use_up_the_attempts(tested_surface, monkeypatch, asked):
    refuse(monkeypatch)
    for _ in range(Forecast.MOST_ATTEMPTS + 1):
        forecasts.refresh(tested_surface.pk)
        ended_fit(tested_surface)

    jobs.sweep()

    assert asked == [tested_surface.pk]


def test_a_mended_record_clears_the_error(tested_surface, monkeypatch):
    with monkeypatch.context() as patch:
        refuse(patch)
        forecasts.refresh(tested_surface.pk)
    bump_record_version(tested_surface.pk)

    forecasts.refresh(tested_surface.pk)

    assert Forecast.objects.get(surface=tested_surface).error == ""


def crash(monkeypatch):
    def crashing(known):
        raise RuntimeError("out of memory")

    monkeypatch.setattr(forecasts, "compute_forecast", crashing)


def crash_until_given_up(surface):
    for _ in range(Forecast.MOST_ATTEMPTS):
        with pytest.raises(RuntimeError):
            forecasts.refresh(surface.pk)


def test_a_crash_frees_the_claim_and_is_tried_again_a_few_times(tested_surface, monkeypatch, asked):
    crash(monkeypatch)
    crash_until_given_up(tested_surface)

    jobs.sweep()

    forecast = Forecast.objects.get(surface=tested_surface)
    assert asked == []
    assert (forecast.state, forecast.error) == ("failed", Forecast.GIVEN_UP)
    assert f"{Forecast.MOST_ATTEMPTS} times" in Forecast.GIVEN_UP


def test_what_was_given_up_is_tried_afresh_the_next_night(tested_surface, monkeypatch, asked):
    crash(monkeypatch)
    crash_until_given_up(tested_surface)

    forecasts.start_night(TODAY)
    jobs.sweep()

    assert asked == [tested_surface.pk]


def test_what_was_given_up_is_tried_afresh_when_the_record_changes(
    tested_surface, monkeypatch, django_capture_on_commit_callbacks
):
    with monkeypatch.context() as patch:
        crash(patch)
        crash_until_given_up(tested_surface)

    with django_capture_on_commit_callbacks(execute=True):
        bump_record_version(tested_surface.pk)

    assert Forecast.objects.get(surface=tested_surface).state == "done"


def fresh(surface, **columns):
    """A forecast as it stands when it is made, after the newest fit of the firm."""
    ended = PortfolioFit.objects.of_organisation(surface.organisation).ended().order_by("-finished_at")
    made = {
        "state": "done",
        "made_from_version": surface.record_version,
        "made_on": TODAY,
        "finished_at": now(),
        "after_fit": ended.first(),
    }
    return Forecast.objects.create(surface=surface, **made | columns)


def ended_fit(surface, state="done", at=None):
    return PortfolioFit.objects.create(
        organisation=surface.organisation, state=state, finished_at=at or now()
    )


def test_the_sweep_finds_what_is_missing_of_an_older_record_or_left_half_way(asked):
    missing, old, left, made, held, removed = SurfaceFactory.create_batch(6)
    fresh(old, made_from_version=0)
    fresh(left, state="running", lease_until=now() - Forecast.LEASE)
    fresh(made)
    fresh(held, state="running", lease_until=now() + Forecast.LEASE)
    fresh(removed)
    SurfaceFactory(removed_on=TODAY)
    Surface.objects.filter(pk=removed.pk).update(removed_on=TODAY, record_version=2)

    jobs.sweep()

    assert set(asked) == {missing.pk, old.pk, left.pk, removed.pk}


@pytest.mark.parametrize("state", ["done", "failed"])
def test_when_a_fit_has_ended_well_or_not_the_firms_forecasts_are_made_anew(asked, state):
    surface, stranger = SurfaceFactory.create_batch(2)
    removed = SurfaceFactory(site=surface.site, removed_on=TODAY)
    for each in (surface, stranger, removed):
        fresh(each)
    ended_fit(surface, state)

    jobs.sweep()

    assert asked == [surface.pk]


@pytest.mark.parametrize("state", ["waiting", "running"])
def test_while_a_fit_is_made_its_firms_forecasts_are_left_alone_however_old(asked, state):
    surface = SurfaceFactory()
    fresh(surface, made_on=TODAY - 3 * DAY, finished_at=now() - 3 * DAY)
    PortfolioFit.objects.create(
        organisation=surface.organisation, state=state, lease_until=now() + PortfolioFit.LEASE
    )

    jobs.sweep()

    assert surface.pk not in asked


def test_where_no_night_comes_forecasts_are_made_anew_when_they_are_old(asked):
    surface, younger = SurfaceFactory.create_batch(2)
    fresh(surface, finished_at=now() - OLDEST - DAY)
    fresh(younger, finished_at=now() - DAY)

    jobs.sweep()

    assert asked == [surface.pk]


def test_a_forecast_made_with_the_old_fit_while_the_new_one_ended_is_made_once_more(
    tested_surface, monkeypatch, asked, django_capture_on_commit_callbacks
):
    meanwhile(monkeypatch, lambda: ended_fit(tested_surface))

    with django_capture_on_commit_callbacks(execute=True):
        outcome = forecasts.refresh(tested_surface.pk)

    assert (outcome, asked) == (Outcome.DONE, [tested_surface.pk])
    assert forecasts.refresh(tested_surface.pk) is Outcome.DONE
    assert forecasts.refresh(tested_surface.pk) is Outcome.FRESH


def test_a_forced_refresh_works_on_a_fresh_forecast(tested_surface, django_capture_on_commit_callbacks):
    forecasts.refresh(tested_surface.pk)
    Forecast.objects.update(rate_now_mm_h=1.0)

    with django_capture_on_commit_callbacks(execute=True):
        forecasts.force_refresh(surface=tested_surface)

    assert Forecast.objects.get().rate_now_mm_h > 1.0


def test_a_removed_surface_keeps_its_forecast_and_has_no_advice(tested_surface):
    forecasts.refresh(tested_surface.pk)
    Surface.objects.update(removed_on=TODAY)
    bump_record_version(tested_surface.pk)

    forecasts.refresh(tested_surface.pk)

    assert not tested_surface.recommendations.filter(status="open").exists()


def test_an_untested_surface_is_told_so_and_rests_on_its_kind():
    surface = SurfaceFactory()

    forecasts.refresh(surface.pk)

    forecast = Forecast.objects.get(surface=surface)
    assert forecast.surface_state == "not_tested"
    assert [row.action for row in surface.recommendations.all()] == ["test"]


@pytest.mark.parametrize("tests_per_year", [1e-9, 0.0, 0.01, 52.0])
def test_any_agreement_can_be_thought_through(tested_surface, tests_per_year):
    Agreement.objects.create(
        site=tested_surface.site, tests_per_year=tests_per_year, cleanings_per_year=tests_per_year
    )

    assert forecasts.refresh(tested_surface.pk) is Outcome.DONE


def test_the_task_refreshes_what_was_touched(tested_surface, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        bump_record_version(tested_surface.pk)

    assert Forecast.objects.get(surface=tested_surface).made_from_version == 2


def test_a_cleaned_surface_shows_what_the_cleaning_gave():
    surface = SurfaceFactory(opened_on=date(2020, 5, 1))
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=date(2024, 6, 1)), elapsed_s=900.0)
    CleaningFactory(surface=surface, cleaned_on=date(2024, 7, 1))
    InfiltrationTestFactory(round=RoundFactory(surface=surface, tested_on=date(2024, 7, 10)))

    forecasts.refresh(surface.pk)

    gain = Forecast.objects.get().outlook.gains[0]
    assert (gain.on, gain.method) == (date(2024, 7, 1), CleaningMethod.VACUUM)
    assert gain.measured_factor == pytest.approx(6.0)


def steep(surface):
    """A rate that falls to a third each year, measured steadily."""
    for years, elapsed_s in ((3, 4.45), (2, 11.9), (1, 40.3), (0.05, 137.8)):
        round_ = RoundFactory(surface=surface, tested_on=TODAY - timedelta(days=round(365 * years)))
        for spot, factor in (("a", 0.8), ("b", 1.0), ("c", 1.25)):
            InfiltrationTestFactory(round=round_, spot=spot, elapsed_s=elapsed_s * factor)


def test_a_young_portfolio_is_fitted_anew_so_that_it_follows_a_steep_decline():
    surface = SurfaceFactory(opened_on=TODAY - 3 * 365 * DAY)
    steep(surface)

    forecasts.refresh(surface.pk)

    forecast = Forecast.objects.get(surface=surface)
    assert forecast.rate_low_mm_h < 1330 < forecast.rate_high_mm_h
    assert forecast.decline_percent_yr > 50


def test_a_grown_portfolio_keeps_to_the_nights_fit(monkeypatch):
    surface = SurfaceFactory()
    monkeypatch.setattr(selectors, "YOUNG_PORTFOLIO", 0)
    monkeypatch.setattr(
        selectors.api, "fit_portfolio", lambda histories: pytest.fail("fitted in the request")
    )

    assert forecasts.refresh(surface.pk) is Outcome.DONE


def test_a_record_of_another_surface_that_cannot_be_does_not_stop_this_one(monkeypatch):
    def refuse(histories):
        raise ImpossibleRecordError("surface 1, event 0: rate -1")

    surface = SurfaceFactory()
    monkeypatch.setattr(selectors.api, "fit_portfolio", refuse)

    forecasts.refresh(surface.pk)

    assert Forecast.objects.get(surface=surface).error == ""


def test_a_changed_record_has_its_forecast_wait_so_that_a_look_finds_it(tested_surface, asked):
    forecasts.refresh(tested_surface.pk)
    before = jobs.newest_asked("maintenance.Forecast")

    forecasts.request_forecast(tested_surface.pk)

    assert (before, jobs.newest_asked("maintenance.Forecast")) == (None, tested_surface.forecast.pk)


def test_whoever_is_at_a_forecast_that_is_asked_for_anew_ends_it_and_has_it_made_once_more(
    tested_surface, monkeypatch, asked
):
    def changed():
        bump_record_version(tested_surface.pk)
        forecasts.request_forecast(tested_surface.pk)
        return Forecast.objects.get().state

    acted = meanwhile(monkeypatch, changed)

    assert forecasts.refresh(tested_surface.pk) is Outcome.DONE
    assert acted[1] == "running"
    assert jobs.newest_asked("maintenance.Forecast") == tested_surface.forecast.pk


def test_a_fit_of_the_night_is_not_what_somebody_waits_for(tested_surface, asked):
    firm = tested_surface.organisation
    PortfolioFit.objects.create(organisation=firm, night=TODAY, anew=False)
    of_the_night = jobs.newest_asked("maintenance.PortfolioFit")

    fit = fits.request_fit(organisation=firm)

    assert (of_the_night, jobs.newest_asked("maintenance.PortfolioFit")) == (None, fit.pk)
