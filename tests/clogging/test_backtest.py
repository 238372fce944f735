"""The judgement of a portfolio's forecasts on rounds held back from the fit."""

import numpy as np
import pytest

from clogging.backtest import FEWEST_SURFACES, backtest_portfolio
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.scores import NAIVE
from clogging.simulate import draw_plan, simulate, to_histories
from clogging.types import Conditions, RoundEvent, SpotTest, SurfaceHistory


def invented(seed, surfaces):
    rng = np.random.default_rng(seed)
    return to_histories(simulate(rng, draw_plan(rng, surfaces, 7), to_params(PRIOR_MEAN)))


def test_the_model_scores_above_every_naive_way_on_a_portfolio_of_its_own_kind():
    judged = backtest_portfolio(invented(5, 80))

    model, *naive = judged.forecasters
    assert judged.surfaces == 80
    assert {way.name for way in naive} == set(NAIVE)
    assert all(model.log_score > way.log_score and model.crps < way.crps for way in naive)
    assert 0.65 < model.inside80 < 0.95


def test_the_hidden_round_is_not_seen_by_the_forecast():
    histories = invented(6, 30)
    base = backtest_portfolio(histories)

    far = [
        h._replace(events=(*h.events[:-1], _scaled(h.events[-1], 30.0)))
        if isinstance(h.events[-1], RoundEvent)
        else h
        for h in histories
    ]
    shifted = backtest_portfolio(far)

    assert shifted.forecasters[0].log_score < base.forecasters[0].log_score - 1.0
    assert shifted.forecasters[0].miss_factor > 3 * base.forecasters[0].miss_factor


def _scaled(event, factor):
    return event._replace(tests=tuple(t._replace(rate_mm_h=t.rate_mm_h * factor) for t in event.tests))


@pytest.mark.parametrize("surfaces", [0, FEWEST_SURFACES - 1])
def test_a_portfolio_too_small_to_judge_is_not_judged(surfaces):
    assert backtest_portfolio(invented(7, 20)[:surfaces]) is None


def test_rounds_with_bounds_are_not_hidden():
    bound = RoundEvent(2.0, "ring", (SpotTest(97.2, "<"),))
    reading = RoundEvent(0.0, "ring", (SpotTest(900.0),))
    histories = [SurfaceHistory("picp", Conditions(), (reading, bound))] * 10

    assert backtest_portfolio(histories) is None
