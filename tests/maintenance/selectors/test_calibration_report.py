"""What a firm's own record says about its forecasts."""

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
    round_against_forecast,
    small_outlook,
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
    outlook = small_outlook(
        rounds=(round_against_forecast(900.0, 1000.0, 0.2, 0.2),), decline_percentile=0.95
    )
    Forecast.objects.update(outlook_json=outlook.to_json())
    type(gone).objects.filter(pk=gone.pk).update(removed_on=gone.opened_on)

    found = calibration_report_of(firm.organisation)

    assert [fast.forecast.surface for fast in found.fast] == [mine]
    assert found.calibration.n == 1
