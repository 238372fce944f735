"""Forecasts made anew: claimed once, written by the holder alone, never lost."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils.timezone import now

from core.calc.paving import CleaningMethod
from core.errors import ImpossibleRecordError
from maintenance import tasks
from maintenance.models import Forecast
from maintenance.services import forecasts
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
    """Collects the surfaces that were sent, instead of working on them."""
    sent = []
    monkeypatch.setattr(forecasts, "enqueue_refresh", lambda surface_id: sent.append(surface_id))
    return sent


@pytest.fixture
def tested_surface():
    surface = SurfaceFactory()
    InfiltrationTestFactory(round=RoundFactory(surface=surface))
    return surface


def meanwhile(monkeypatch, act):
    """Run `act` once, in the middle of the work on a forecast."""
    think, acted = forecasts.compute_forecast, []

    def interrupted(surface, today):
        outcome = think(surface, today)
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
    assert outcome == "done"
    assert (forecast.made_from_version, forecast.made_on) == (1, TODAY)
    assert forecast.rate_low_mm_h < forecast.rate_now_mm_h < forecast.rate_high_mm_h
    assert 0 <= forecast.share_below_now <= 1
    assert tested_surface.recommendations.exists()


def test_a_second_delivery_finds_it_fresh(tested_surface, monkeypatch):
    forecasts.refresh(tested_surface.pk)
    monkeypatch.setattr(forecasts, "compute_forecast", None)  # working on it again would fail

    assert forecasts.refresh(tested_surface.pk) == "fresh"


def test_a_surface_that_is_gone_is_no_error():
    assert forecasts.refresh("00000000-0000-4000-8000-000000000000") == "gone"


def test_a_forecast_of_yesterday_is_made_anew(tested_surface):
    forecasts.refresh(tested_surface.pk)
    Forecast.objects.update(made_on=TODAY - DAY)

    assert forecasts.refresh(tested_surface.pk) == "done"


def test_a_delivery_during_the_work_is_held_off(tested_surface, monkeypatch):
    acted = meanwhile(monkeypatch, lambda: forecasts.refresh(tested_surface.pk))

    outcome = forecasts.refresh(tested_surface.pk)

    assert (acted[1], outcome) == ("held", "done")


def test_without_the_claim_both_deliveries_would_work(tested_surface, monkeypatch):
    """The control for the test above: it is the claim that holds the second delivery off."""
    monkeypatch.setattr(forecasts, "_claim", lambda _: now())
    acted = meanwhile(monkeypatch, lambda: forecasts.refresh(tested_surface.pk))

    forecasts.refresh(tested_surface.pk)

    assert acted[1] != "held"


def test_a_worker_that_lost_its_claim_stays_silent(tested_surface, monkeypatch):
    def another_takes_over():
        Forecast.objects.update(claimed_at=now() + DAY, error="by the other")

    meanwhile(monkeypatch, another_takes_over)

    outcome = forecasts.refresh(tested_surface.pk)

    forecast = Forecast.objects.get(surface=tested_surface)
    assert (outcome, forecast.error, forecast.made_on) == ("lease lost", "by the other", None)
    assert not tested_surface.recommendations.exists()


def test_a_claim_whose_worker_died_is_taken_over_after_its_lease(tested_surface):
    Forecast.objects.create(surface=tested_surface, claimed_at=now() - forecasts.LEASE * 2)

    assert forecasts.refresh(tested_surface.pk) == "done"


def test_a_record_that_changed_during_the_work_is_sent_again(tested_surface, monkeypatch, asked):
    meanwhile(monkeypatch, lambda: bump_record_version(tested_surface.pk))

    forecasts.refresh(tested_surface.pk)

    assert asked == [tested_surface.pk]
    assert Forecast.objects.get(surface=tested_surface).is_stale


def refuse(monkeypatch, said="Test 2 lies before the opening; correct its date."):
    def refusing(surface, today):
        raise ImpossibleRecordError(said)

    monkeypatch.setattr(forecasts, "compute_forecast", refusing)


def test_what_the_model_refuses_is_said_on_the_page(client, firm, monkeypatch):
    refuse(monkeypatch)
    client.force_login(firm.viewer)

    outcome = forecasts.refresh(firm.surface.pk)

    page = as_shown(client.get(firm.surface.get_absolute_url()).content.decode())
    start = as_shown(client.get(reverse("reporting:start")).content.decode())
    assert outcome == "refused"
    assert "Test 2 lies before the opening; correct its date." in page
    assert "Test 2 lies before the opening" in start


def test_a_refusal_is_an_answer_and_is_not_asked_again_the_same_day(tested_surface, monkeypatch, asked):
    refuse(monkeypatch)
    forecasts.refresh(tested_surface.pk)

    forecasts.enqueue_stale()

    assert asked == []


def test_refusals_on_many_days_do_not_use_up_the_attempts(tested_surface, monkeypatch, asked):
    refuse(monkeypatch)
    for _ in range(forecasts.MOST_ATTEMPTS + 1):
        forecasts.refresh(tested_surface.pk)
        Forecast.objects.update(made_on=TODAY - DAY)

    forecasts.enqueue_stale()

    assert asked == [tested_surface.pk]


def test_a_mended_record_clears_the_error(tested_surface, monkeypatch):
    with monkeypatch.context() as patch:
        refuse(patch)
        forecasts.refresh(tested_surface.pk)
    bump_record_version(tested_surface.pk)

    forecasts.refresh(tested_surface.pk)

    assert Forecast.objects.get(surface=tested_surface).error == ""


def crash(monkeypatch):
    def crashing(surface, today):
        raise RuntimeError("out of memory")

    monkeypatch.setattr(forecasts, "compute_forecast", crashing)


def test_a_crash_frees_the_claim_and_is_tried_again_a_few_times_a_day(tested_surface, monkeypatch, asked):
    crash(monkeypatch)
    tries = 0
    for _ in range(forecasts.MOST_ATTEMPTS + 3):
        tries += forecasts.enqueue_stale()
        while asked:
            with pytest.raises(RuntimeError):
                forecasts.refresh(asked.pop())
    Forecast.objects.update(attempts=forecasts.MOST_ATTEMPTS)

    next_day = forecasts.reset_and_enqueue()

    assert tries == forecasts.MOST_ATTEMPTS
    assert next_day == 1


def test_the_sweep_finds_what_is_missing_old_or_left_half_way(asked):
    missing, old, left, fresh, held = SurfaceFactory.create_batch(5)
    made = {"made_from_version": 1, "made_on": TODAY}
    Forecast.objects.create(surface=old, **made | {"made_on": TODAY - DAY})
    Forecast.objects.create(surface=left, claimed_at=now() - forecasts.LEASE * 2)
    Forecast.objects.create(surface=fresh, **made)
    Forecast.objects.create(surface=held, claimed_at=now())
    SurfaceFactory(removed_on=TODAY)

    forecasts.enqueue_stale()

    assert set(asked) == {missing.pk, old.pk, left.pk}


@pytest.mark.parametrize(
    ("zone", "instant", "swept"),
    [
        ("Pacific/Pago_Pago", "2026-06-11T10:59:00Z", False),  # UTC - 11 h: still the 10th
        ("Pacific/Pago_Pago", "2026-06-11T11:01:00Z", True),
        ("Pacific/Kiritimati", "2026-06-10T09:59:00Z", False),  # UTC + 14 h: not yet the 11th
        ("Pacific/Kiritimati", "2026-06-10T10:01:00Z", True),
    ],
)
def test_the_sweep_finds_a_forecast_of_the_10th_when_that_day_is_over_at_its_site(
    asked, time_machine, zone, instant, swept
):
    surface, _ = SurfaceFactory(site__time_zone=zone), SurfaceFactory(site__time_zone="UTC", removed_on=TODAY)
    Forecast.objects.create(surface=surface, made_from_version=1, made_on=date(2026, 6, 10))
    time_machine.move_to(instant)

    forecasts.enqueue_stale()

    assert asked == ([surface.pk] if swept else [])


def test_every_surface_is_sent_again_after_a_fit_and_nobody_finishes_with_the_old_one(
    tested_surface, monkeypatch, asked
):
    meanwhile(monkeypatch, lambda: forecasts.refresh_firm(tested_surface.organisation))

    outcome = forecasts.refresh(tested_surface.pk)

    assert outcome == "lease lost"
    assert asked == [tested_surface.pk]
    assert forecasts.refresh(tested_surface.pk) == "done"


def test_a_forced_refresh_works_on_a_fresh_forecast(tested_surface):
    forecasts.refresh(tested_surface.pk)
    Forecast.objects.update(rate_now_mm_h=1.0)

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
    from planning.models import Agreement

    Agreement.objects.create(
        site=tested_surface.site, tests_per_year=tests_per_year, cleanings_per_year=tests_per_year
    )

    assert forecasts.refresh(tested_surface.pk) == "done"


def test_the_task_refreshes_what_was_touched(tested_surface, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        bump_record_version(tested_surface.pk)

    assert Forecast.objects.get(surface=tested_surface).made_from_version == 2


def test_periodic_tasks_count_what_they_sent(tested_surface, asked):
    assert (tasks.sweep(), tasks.refresh_all()) == (1, 1)


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
    monkeypatch.setattr(forecasts, "YOUNG_PORTFOLIO", 0)
    monkeypatch.setattr(
        forecasts.api, "fit_portfolio", lambda histories: pytest.fail("fitted in the request")
    )

    assert forecasts.refresh(surface.pk) == "done"


def test_a_record_of_another_surface_that_cannot_be_does_not_stop_this_one(monkeypatch):
    def refuse(histories):
        raise ImpossibleRecordError("surface 1, event 0: rate -1")

    surface = SurfaceFactory()
    monkeypatch.setattr(forecasts.api, "fit_portfolio", refuse)

    forecasts.refresh(surface.pk)

    assert Forecast.objects.get(surface=surface).error == ""
