"""The model against what people do without one, on a portfolio's own records.

The newest round of each surface is hidden, everything is fitted anew without them, and each way has to say what
those rounds showed. Only rounds of plain readings count, since an inequality has no density.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from typing import NamedTuple

import numpy as np

from core.calc.translation import gettext_noop

from .fitting import PortfolioFit, fit_portfolio
from .hindcast import expected_round
from .packing import Floats
from .scores import NAIVE, coverage, crps, log_score, naive_forecast, pit
from .trajectory import run_surface
from .types import RoundEvent, SurfaceHistory

MOST_SURFACES = 400  # enough to tell the forecasters apart; more would only take longer
FEWEST_SURFACES = 5


class Forecaster(NamedTuple):
    """How one way of forecasting did on the hidden rounds, averaged over surfaces.

    log_score: natural log density of what came, higher is better; crps: log units, lower is better
    miss_factor: the middle one of the misses, as a factor; inside80: share of rounds in its 80 % range
    """

    name: str
    log_score: float
    crps: float
    miss_factor: float
    inside80: float


class Backtest(NamedTuple):
    """surfaces: with a hidden round; forecasters: the model first, then the names in scores.NAIVE."""

    surfaces: int
    forecasters: tuple[Forecaster, ...]


class _Hidden(NamedTuple):
    """A history up to and with its hidden round, and the same without it."""

    full: SurfaceHistory
    known: SurfaceHistory
    at: int


def backtest_portfolio(histories: Sequence[SurfaceHistory]) -> Backtest | None:
    """Scores of the model and of the naive forecasters; None with fewer than FEWEST_SURFACES surfaces to judge.

    A surface counts when it has a round of plain readings with at least one round before it. Takes about as
    long as a fit of the portfolio and some milliseconds a surface.
    """
    hidden = {i: found for i, history in enumerate(histories) if (found := _hide(history))}
    if len(hidden) < FEWEST_SURFACES:
        return None
    fit = fit_portfolio([hidden[i].known if i in hidden else history for i, history in enumerate(histories)])
    judged = list(hidden.values())[:MOST_SURFACES]
    return _judge(judged, fit)


def _judge(judged: Sequence[_Hidden], fit: PortfolioFit) -> Backtest:
    expected = [expected_round(run_surface(one.full, fit.draws), one.at) for one in judged]
    value = np.array([e.found for e in expected])
    model = np.stack([e.mean for e in expected]), np.stack([e.sd for e in expected])
    dates = np.array([one.full.events[one.at].t_yr for one in judged])
    known = [one.known for one in judged]
    naive = {rule: naive_forecast(rule, known, dates) for rule in NAIVE}
    forecasters = {gettext_noop("the model"): model, **naive}
    return Backtest(
        len(judged), tuple(_forecaster(name, value, *forecast) for name, forecast in forecasters.items())
    )


def _forecaster(name: str, value: Floats, mean: Floats, sd: Floats) -> Forecaster:
    miss = float(np.median(np.abs(value - mean.mean(1))))
    return Forecaster(
        name,
        float(log_score(value, mean, sd).mean()),
        float(crps(value, mean, sd).mean()),
        exp(miss),
        coverage(pit(value, mean, sd), 0.8),
    )


def _hide(history: SurfaceHistory) -> _Hidden | None:
    """The newest round of plain readings, if a round lies before it."""
    rounds = [at for at, event in enumerate(history.events) if isinstance(event, RoundEvent)]
    for at in reversed(rounds[1:]):
        event = history.events[at]
        if isinstance(event, RoundEvent) and all(test.bound == "=" for test in event.tests):
            full = history._replace(events=history.events[: at + 1])
            return _Hidden(full, history._replace(events=history.events[:at]), at)
    return None
