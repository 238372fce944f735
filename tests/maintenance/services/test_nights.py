"""Nights on which nothing changes but the day: forecast and advice as if made in full, at a fraction of the work."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from math import exp

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from core.services import batches, jobs
from maintenance.calc.night_payload import LONGEST_DAYS, LONGEST_DUE_DAYS, Reckoned
from maintenance.models import Forecast, MethodTerms, PortfolioFit, Recommendation
from maintenance.services import fits, forecasts, nights
from maintenance.services.cleanings import terms_of
from qa.services.changes import bump_record_version
from tests.factories import InfiltrationTestFactory, RoundFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db
FIRST = datetime(2026, 6, 10, 9, 0, tzinfo=UTC)
LABEL = "maintenance.Forecast"
PACES = (0.05, 0.2, 0.35, 0.5, 0.65, 0.9)  # log units a year
NEW_S, SPOTS, YEARS = 20.0, 3, 5


@pytest.fixture
def clock(monkeypatch):
    """The first day; portfolios of any size rest on the stored fit."""
    monkeypatch.setattr("maintenance.selectors.fits.YOUNG_PORTFOLIO", 0)
    traveller = time_machine.travel(FIRST, tick=False)
    yield traveller.start()
    traveller.stop()


def surface_of(site, pace):
    """Tested each June, its water taking longer every year."""
    surface = SurfaceFactory(site=site, opened_on=date(2021, 5, 1))
    for year in range(YEARS):
        round_ = RoundFactory(surface=surface, tested_on=date(2021 + year, 6, 1))
        for spot in range(SPOTS):
            InfiltrationTestFactory(round=round_, elapsed_s=NEW_S * exp(pace * year + 0.1 * (spot - 1)))
    return surface


@pytest.fixture
def surfaces(clock):
    """Surfaces of one firm that last and that clog, each forecast in full on the first day."""
    site = SiteFactory(time_zone="UTC")
    made = [surface_of(site, pace) for pace in PACES]
    fits.run_fit(PortfolioFit.objects.create(organisation=site.organisation, night=FIRST.date()).pk)
    for surface in made:
        forecasts.refresh(surface.pk)
    return made


@pytest.fixture
def in_full(monkeypatch):
    """Surfaces whose forecast was computed in full, in turn."""
    made, think = [], forecasts.compute_forecast

    def noted(known):
        made.append(known.surface.pk)
        return think(known)

    monkeypatch.setattr(forecasts, "compute_forecast", noted)
    return made


def night_after(clock, days=1):
    """The night so many days on, in batches."""
    clock.move_to(FIRST + timedelta(days=days))
    jobs.requeue(Forecast.objects.all())
    while batches.run_batch(LABEL):
        pass


def told(surface):
    row = Forecast.objects.get(surface=surface)
    advice = Recommendation.objects.open().filter(surface=surface).order_by("action")
    return row, {each.action: each for each in advice}


def soon(advice):
    """What is due within the year less the quarter that a comparison may be old: what lies further may come later."""
    until = now().date() + timedelta(days=365 - LONGEST_DAYS)
    return {action: piece for action, piece in advice.items() if piece.due_on <= until}


def actions(advice, row):
    """What is advised; surely below the limit, to test first or to clean at once is nearly a tie."""
    if row.share_below_now < 0.99:
        return set(advice)
    return {"clean or test" if action in ("clean", "test") else action for action in advice}


def reckoned_best(row):
    """The cleaning that was first when this was reckoned. Which of them is first in full turns with the day, since
    their savings over twenty years lie within what a few futures can tell apart.
    """
    needed = Reckoned.read(row.reckoned_json).needs.cleaning
    return needed and needed.best.method


def made_in_full(surface):
    forecasts.force_refresh(surface=surface)
    forecasts.refresh(surface.pk)
    return told(surface)


@pytest.mark.parametrize("days", [1, 9, 20])
def test_a_forecast_and_its_advice_are_those_that_are_made_in_full_on_the_day(clock, surfaces, in_full, days):
    night_after(clock, days)
    carried_on = [surface for surface in surfaces if surface.pk not in in_full]
    brought = {surface: told(surface) for surface in carried_on}

    assert len(carried_on) >= len(surfaces) // 2
    for surface, (row, advice) in brought.items():
        anew, anew_advice = made_in_full(surface)
        assert row.made_on == anew.made_on == now().date()
        assert row.surface_state == anew.surface_state
        for name in ("rate_now_mm_h", "rate_low_mm_h", "rate_high_mm_h"):
            assert getattr(row, name) == pytest.approx(getattr(anew, name), rel=0.005)
        assert row.share_below_now == pytest.approx(anew.share_below_now, abs=0.005)
        for name in ("below_10_on", "below_50_on", "below_90_on"):
            on, then = getattr(row, name), getattr(anew, name)
            assert (on is None) == (then is None)
            assert on is None or abs(on - then) <= timedelta(days=2)
        assert actions(soon(advice), row) <= actions(anew_advice, row)
        assert actions(soon(anew_advice), row) <= actions(advice, row)
        for action in soon(advice).keys() & anew_advice.keys():
            piece = advice[action]
            assert action != "clean" or piece.method == reckoned_best(row)
            assert abs(piece.due_on - anew_advice[action].due_on) <= timedelta(days=31)
            assert piece.share_below == pytest.approx(anew_advice[action].share_below, abs=0.005)


def test_curves_begin_on_the_day_of_the_forecast_and_end_where_the_past_does(clock, surfaces):
    night_after(clock)

    row, _ = told(surfaces[0])
    assert (row.outlook.future.on[0], row.outlook.past.on[-1]) == (row.made_on, row.made_on)
    assert row.outlook.rate_now_mm_h.median == row.rate_now_mm_h == row.outlook.future.median[0]
    assert row.outlook.below[0] == row.share_below_now
    assert len(row.outlook.below) == len(row.outlook.future.on)
    assert row.outlook.care_on == FIRST.date()


def test_nothing_is_made_in_full_where_nothing_but_the_day_has_changed(clock, surfaces, in_full):
    night_after(clock)

    assert len(in_full) <= 1  # what comes due in the very night is looked at anew


def record(clock, surfaces):
    bump_record_version(surfaces[1].pk)
    return {surfaces[1].pk}


def raise_price(clock, surfaces):
    organisation = surfaces[0].organisation
    method = next(iter(terms_of(organisation)))
    MethodTerms.objects.filter(organisation=organisation, method=method).update(cost_per_m2=Decimal("9.87"))
    return {surface.pk for surface in surfaces}


def value_otherwise(clock, surfaces):
    site = surfaces[0].site
    type(site).objects.filter(pk=site.pk).update(below_price_m2_yr=Decimal(9))
    return {surface.pk for surface in surfaces}


def fit_anew(clock, surfaces):
    clock.move_to(FIRST + timedelta(minutes=1))
    fits.run_fit(fits.request_fit(organisation=surfaces[0].organisation).pk)
    return {surface.pk for surface in surfaces}


def ask(clock, surfaces):
    forecasts.force_refresh(surface=surfaces[2])
    return {surfaces[2].pk}


@pytest.mark.parametrize("change", [record, raise_price, value_otherwise, fit_anew, ask])
def test_whatever_a_forecast_rests_on_has_it_made_in_full(clock, surfaces, in_full, change):
    expected = change(clock, surfaces)

    night_after(clock, 0)

    assert set(in_full) == expected


def test_new_rules_have_every_forecast_made_in_full(clock, surfaces, in_full, monkeypatch):
    monkeypatch.setattr("maintenance.selectors.bases.edition", lambda: "another")

    night_after(clock, 0)

    assert set(in_full) == {surface.pk for surface in surfaces}


def test_a_surface_that_has_come_to_its_limit_is_made_in_full_and_told_of(clock, surfaces, in_full):
    row, _ = told(surfaces[-1])
    Forecast.objects.filter(pk=row.pk).update(surface_state="draining")

    night_after(clock, 0)

    assert in_full == [surfaces[-1].pk]
    assert told(surfaces[-1])[0].surface_state == row.surface_state


def test_a_night_takes_as_many_queries_for_many_surfaces_as_for_few(clock, surfaces, in_full):
    few = Forecast.objects.filter(surface__in=surfaces[:2])
    counts = []
    for rows in (few, Forecast.objects.all()):
        jobs.requeue(rows)
        with CaptureQueriesContext(connection) as asked:
            batches.run_batch(LABEL)
        counts.append([each["sql"] for each in asked if "UPDATE " not in each["sql"]])

    assert in_full == []
    assert len(counts[0]) == len(counts[1])


def test_a_worker_that_lost_a_claim_leaves_that_forecast_alone(clock, surfaces, monkeypatch):
    end, lost = nights.finish_together, Forecast.objects.get(surface=surfaces[0])

    def overtaken(own, alike):
        Forecast.objects.filter(pk=lost.pk).update(claim_number=99, worker="another:1")
        return end(own, alike)

    monkeypatch.setattr(nights, "finish_together", overtaken)
    clock.move_to(FIRST + timedelta(days=1))
    jobs.requeue(Forecast.objects.all())
    batches.run_batch(LABEL)

    lost.refresh_from_db()
    assert (lost.made_on, lost.claim_number, lost.worker) == (FIRST.date(), 99, "another:1")
    assert set(Forecast.objects.exclude(pk=lost.pk).values_list("made_on", flat=True)) == {now().date()}


def test_a_night_that_is_cut_off_leaves_neither_half_a_forecast_nor_half_its_advice(
    clock, surfaces, monkeypatch
):
    before = list(Recommendation.objects.order_by("pk").values())

    def killed(given):
        raise SystemExit

    monkeypatch.setattr(nights, "give_many", killed)
    clock.move_to(FIRST + timedelta(days=1))
    jobs.requeue(Forecast.objects.all())
    with pytest.raises(SystemExit):
        batches.run_batch(LABEL)

    assert set(Forecast.objects.values_list("made_on", "state")) == {(FIRST.date(), "waiting")}
    assert list(Recommendation.objects.order_by("pk").values()) == before


def test_where_the_quick_way_fails_every_forecast_is_made_in_full(clock, surfaces, in_full, monkeypatch):
    def fail(given):
        raise ArithmeticError

    monkeypatch.setattr(nights, "give_many", fail)
    night_after(clock)

    assert set(in_full) == {surface.pk for surface in surfaces}
    assert set(Forecast.objects.values_list("made_on", flat=True)) == {now().date()}


def test_what_was_reckoned_is_looked_at_anew_when_it_comes_due_and_when_it_is_old(surfaces):
    row = next(row for row in Forecast.objects.all() if row.reckoned.needs.cleaning is None)
    reckoned = row.reckoned
    on, test_on = FIRST.date(), FIRST.date() + timedelta(days=40)
    later = Reckoned.from_json(
        reckoned.to_json() | {"needs": reckoned.to_json()["needs"] | {"test_on": str(test_on)}}
    )
    due = Reckoned.from_json(
        reckoned.to_json() | {"needs": reckoned.to_json()["needs"] | {"test_on": str(on)}}
    )

    assert later.holds(test_on - timedelta(days=1), 0)
    assert not later.holds(test_on, 0)
    assert due.holds(on + timedelta(days=LONGEST_DUE_DAYS), 0)
    assert not due.holds(on + timedelta(days=LONGEST_DUE_DAYS + 1), 0)
    assert due.needs_on(on + timedelta(days=3)).test_on == on + timedelta(days=3)
    assert not later.holds(on - timedelta(days=1), 0)
    never = Reckoned.from_json(
        reckoned.to_json() | {"needs": reckoned.to_json()["needs"] | {"test_on": None}}
    )
    assert never.holds(on + timedelta(days=LONGEST_DAYS), 0)
    assert not never.holds(on + timedelta(days=LONGEST_DAYS), 1)  # by a number of its own, a day sooner


def nightly_fit(surfaces, days):
    organisation = surfaces[0].organisation
    fit = fits.request_fit(organisation=organisation, night=FIRST.date() + timedelta(days=days))
    fits.run_fit(fit.pk)
    fit.refresh_from_db()
    return fit


def test_a_night_keeps_the_parameters_where_hardly_anything_is_new(clock, surfaces):
    made = PortfolioFit.objects.get()
    bump_record_version(surfaces[0].pk)
    clock.move_to(FIRST + timedelta(days=1))

    kept = nightly_fit(surfaces, 1)

    assert (kept.state, kept.kept_from, kept.fitted_at) == ("done", made.pk, made.fitted_at)
    assert (kept.result, kept.tests) == (made.result, made.tests)
    assert nightly_fit(surfaces, 2).kept_from == made.pk


def test_a_night_fits_anew_once_enough_is_new_however_it_came_bit_by_bit(clock, surfaces):
    made = PortfolioFit.objects.get()
    enough = int(fits.MOST_NEW * made.tests) + 1
    for night in range(1, enough):
        bump_record_version(surfaces[0].pk)
        assert nightly_fit(surfaces, night).kept_from == made.pk
    bump_record_version(surfaces[0].pk)

    assert nightly_fit(surfaces, enough).kept_from is None


def test_a_night_fits_anew_after_a_month_if_anything_is_new(clock, surfaces):
    clock.move_to(FIRST + fits.LONGEST_KEPT + timedelta(days=1))
    untouched = nightly_fit(surfaces, 31)
    bump_record_version(surfaces[0].pk)

    assert untouched.kept_from is not None
    assert nightly_fit(surfaces, 32).kept_from is None


def test_a_fit_that_somebody_asks_for_is_made(surfaces):
    fit = fits.request_fit(organisation=surfaces[0].organisation)
    fits.run_fit(fit.pk)

    fit.refresh_from_db()
    assert fit.kept_from is None
    assert fit.fitted_at is not None


def test_kept_parameters_say_of_a_surface_what_new_ones_do(clock, surfaces):
    """With as much new as a night lets pass: one round on another surface."""
    row, _ = told(surfaces[2])
    round_ = RoundFactory(surface=surfaces[0], tested_on=FIRST.date())
    for _ in range(4):
        InfiltrationTestFactory(round=round_, elapsed_s=NEW_S)
    fits.run_fit(fits.request_fit(organisation=surfaces[0].organisation).pk)

    anew, _ = made_in_full(surfaces[2])

    assert anew.rate_now_mm_h == pytest.approx(row.rate_now_mm_h, rel=0.02)
