"""The model against what people do without one, on a fleet's own records.

The newest round of each surface is hidden, everything is fitted anew without them, and each way has to say what
those rounds showed. Only rounds of plain readings count, since an inequality has no density.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from typing import NamedTuple

import numpy as np

from .checks_behind import expected_round
from .fitting import FleetFit, fit_fleet
from .packing import Floats
from .scores import NAIVE, coverage, crps, log_score, naive_forecast, pit
from .trajectory import run_surface
from .types import RoundEvent, SurfaceHistory

MOST_SURFACES = 400  # enough to tell the ways apart; more would only take longer
FEWEST_SURFACES = 5


class Way(NamedTuple):
    """How one way of forecasting did on the hidden rounds, averaged over surfaces.

    log_score: natural log density of what came, higher is better; crps: log units, lower is better
    miss_factor: the middle one of the misses, as a factor; inside80: share of rounds in its 80 % range
    """

    name: str
    log_score: float
    crps: float
    miss_factor: float
    inside80: float


class Judgement(NamedTuple):
    """surfaces: with a hidden round; ways: the model first, then the names in scores.NAIVE."""

    surfaces: int
    ways: tuple[Way, ...]


class _Hidden(NamedTuple):
    """A history up to and with its hidden round, and the same without it."""

    full: SurfaceHistory
    known: SurfaceHistory
    at: int


def judge_fleet(histories: Sequence[SurfaceHistory]) -> Judgement | None:
    """Scores of the model and of the naive ways; None with fewer than FEWEST_SURFACES surfaces to hide a round of.

    A surface counts when it has a round of plain readings with at least one round before it. Takes about as
    long as a fit of the fleet and some milliseconds a surface.
    """
    hidden = {i: found for i, history in enumerate(histories) if (found := _hide(history))}
    if len(hidden) < FEWEST_SURFACES:
        return None
    fit = fit_fleet([hidden[i].known if i in hidden else history for i, history in enumerate(histories)])
    judged = list(hidden.values())[:MOST_SURFACES]
    return _judge(judged, fit)


def _judge(judged: Sequence[_Hidden], fit: FleetFit) -> Judgement:
    expected = [expected_round(run_surface(one.full, fit.draws), one.at) for one in judged]
    value = np.array([e.found for e in expected])
    model = np.stack([e.mean for e in expected]), np.stack([e.sd for e in expected])
    dates = np.array([one.full.events[one.at].t_yr for one in judged])
    known = [one.known for one in judged]
    naive = {rule: naive_forecast(rule, known, dates) for rule in NAIVE}
    ways = {"the model": model, **naive}
    return Judgement(len(judged), tuple(_way(name, value, *forecast) for name, forecast in ways.items()))


def _way(name: str, value: Floats, mean: Floats, sd: Floats) -> Way:
    miss = float(np.median(np.abs(value - mean.mean(1))))
    return Way(
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
