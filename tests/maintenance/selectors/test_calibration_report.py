"""What a firm's own record says about its forecasts."""

from datetime import date

import pytest
from scipy.stats import binom

from maintenance.models import Forecast
from maintenance.selectors.calibration_report import (
    EXPECTED_LEVEL,
    calibration_report_of,
    expected_counts,
    histogram,
    likely_causes,
)
from maintenance.services import forecasts
from tests.factories import (
    InfiltrationTestFactory,
    RoundFactory,
    SurfaceFactory,
)


def test_tenths_hold_their_lower_end_and_the_last_one_both():
    counts = [tenth.count for tenth in histogram([0.0, 0.05, 0.1, 0.999, 1.0])]

    assert counts == [2, 1, 0, 0, 0, 0, 0, 0, 0, 2]


@pytest.mark.parametrize("rounds", [10, 40, 400])
def test_honest_forecasts_stay_between_the_counts_as_often_as_said(rounds):
    low, high = expected_counts(rounds, 10)

    inside = binom.cdf(high, rounds, 0.1) - binom.cdf(low - 1, rounds, 0.1)
    assert inside >= EXPECTED_LEVEL
    assert binom.cdf(low - 1, rounds, 0.1) <= (1 - EXPECTED_LEVEL) / 2


def test_causes_name_what_the_record_does_not_know_of():
    bare, clean = (Forecast(surface=SurfaceFactory.build(bare_soil=soil)) for soil in (True, False))

    assert not any("unrecorded" in cause for cause in likely_causes(bare))
    assert any("unrecorded" in cause for cause in likely_causes(clean))


def test_only_surfaces_of_the_firm_that_are_there_are_judged(firm):
    mine, gone, theirs = firm.surface, SurfaceFactory(site=firm.site), SurfaceFactory()
    for surface in (mine, gone, theirs):
        InfiltrationTestFactory(round=RoundFactory(surface=surface))
        forecasts.refresh(surface.pk)
    Forecast.objects.update(pits_json=[0.2], decline_percentile=0.95)
    type(gone).objects.filter(pk=gone.pk).update(removed_on=gone.opened_on)

    found = calibration_report_of(firm.organisation)

    assert [fast.forecast.surface for fast in found.fast] == [mine]
    assert found.calibration.n == 1


def test_what_a_forecast_says_of_its_rounds_is_kept_beside_its_curves(firm):
    for day in (date(2023, 6, 1), date(2024, 6, 1)):
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=day))
    forecasts.refresh(firm.surface.pk)

    made = Forecast.objects.get()

    exact = [check.pit_lo for check in made.outlook.rounds if check.pit_lo == check.pit_hi]
    assert made.pits_json == exact
    assert len(exact) == 2
    assert made.decline_percentile == made.outlook.decline_percentile


def test_of_many_surfaces_that_fall_fast_the_fastest_are_named_and_the_rest_counted(firm, monkeypatch):
    monkeypatch.setattr("maintenance.selectors.calibration_report.MOST_FAST", 2)
    for place in (0.93, 0.99, 0.5, 0.96):
        surface = SurfaceFactory(site=firm.site)
        Forecast.objects.create(surface=surface, decline_percent_yr=20.0, decline_percentile=place)

    found = calibration_report_of(firm.organisation)

    assert [fast.place for fast in found.fast] == [0.99, 0.96]
    assert (found.fast_count, found.fast_unnamed) == (3, 1)
