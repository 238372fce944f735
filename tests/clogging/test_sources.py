"""What a change of source is worth, the place among like surfaces, and which shape the records support."""

import numpy as np
import pytest

from clogging.api import (
    Conditions,
    SourceEvent,
    SurfaceHistory,
    after_source_change,
    fit_portfolio,
    forecast_surface,
    prior_fit,
    shape_support,
)

from .worlds import PLAIN, ring

FIT = prior_fit()
FAST = SurfaceHistory(
    "picp",
    Conditions(bare_soil=True, trees=True),
    tuple(ring(t, *(3 * [10_000.0 * np.exp(-0.5 * t)])) for t in range(1, 5)),
)


def test_stopping_a_source_keeps_the_surface_above_its_limit_for_longer():
    seen = after_source_change(FAST, FIT, at_yr=4.0, kind="stopped", limit_mm_h=400.0)

    assert seen.with_change.decline_percent_a_year.median < seen.without.decline_percent_a_year.median
    assert (seen.with_change.future.median[1:] > seen.without.future.median[1:]).all()
    assert seen.years_gained > 0.0
    assert seen.without.future.median[0] == pytest.approx(seen.with_change.future.median[0])


def test_a_new_source_costs_what_stopping_one_gains():
    seen = after_source_change(FAST, FIT, at_yr=4.0, kind="started", limit_mm_h=400.0)

    assert seen.with_change.decline_percent_a_year.median > seen.without.decline_percent_a_year.median
    assert seen.years_gained < 0.0


def test_the_course_with_the_change_is_the_forecast_of_the_history_that_holds_it():
    changed = FAST._replace(events=(*FAST.events, SourceEvent(4.0, "stopped")))

    asked = after_source_change(FAST, FIT, at_yr=4.0, kind="stopped", limit_mm_h=400.0)
    recorded = forecast_surface(changed, FIT, now_yr=4.0, limit_mm_h=400.0)

    np.testing.assert_allclose(asked.with_change.p_below, recorded.p_below, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(asked.with_change.future.lo80, recorded.future.lo80, rtol=1e-6)


def test_an_unknown_change_of_source_is_refused():
    with pytest.raises(ValueError, match="Unknown change of source 'paused'"):
        after_source_change(FAST, FIT, at_yr=4.0, kind="paused", limit_mm_h=400.0)


def test_a_recorded_cause_does_not_explain_itself_away():
    seen = forecast_surface(FAST, FIT, now_yr=4.0, limit_mm_h=250.0)

    assert seen.decline_percentile_plain > seen.decline_percentile
    assert [cause.condition for cause in seen.recorded_causes] == ["bare_soil", "trees"]
    for cause in seen.recorded_causes:
        assert seen.decline_percentile < cause.percentile_without < seen.decline_percentile_plain


def test_without_recorded_conditions_both_places_are_the_same():
    seen = forecast_surface(FAST._replace(conditions=Conditions()), FIT, now_yr=4.0, limit_mm_h=250.0)

    assert seen.recorded_causes == ()
    assert seen.decline_percentile_plain == seen.decline_percentile


def test_without_records_no_shape_is_supported():
    for support in shape_support(FIT):
        assert (support.slows, support.even, support.speeds_up) == pytest.approx(support.before)
        assert support.times == pytest.approx(1.0)
        assert support.strength == "hardly"


@pytest.mark.parametrize(("kappa", "shape"), [(0.8, "slows"), (-0.5, "speeds up")])
def test_the_shape_that_was_put_in_is_the_one_supported(kappa, shape):
    rng = np.random.default_rng(5)
    ages = np.array([0.1, 1.0, 2.0, 3.0, 4.5, 6.0])
    histories = [
        SurfaceHistory(
            "picp",
            Conditions(),
            tuple(
                ring(t, *np.exp(9.0 + rng.normal(0.0, 0.1, 3) - lam * -np.expm1(-kappa * t) / kappa))
                for t in ages
            ),
        )
        for lam in rng.normal(0.4, 0.05, 12)
    ]

    support = next(s for s in shape_support(fit_portfolio(histories)) if s.surface_type == "picp")

    assert support.shape == shape
    assert support.strength in ("strongly", "very strongly")
    assert support.kappa.lo95 < kappa < support.kappa.hi95


def test_recorded_conditions_of_plain_come_in_order_of_what_they_add():
    causes = forecast_surface(PLAIN, FIT, now_yr=6.0, limit_mm_h=250.0).recorded_causes

    added = [cause.added_percent_a_year.median for cause in causes]
    assert added == sorted(added, reverse=True)
    assert {cause.condition for cause in causes} == {"run_on_ratio", "trees", "traffic"}
