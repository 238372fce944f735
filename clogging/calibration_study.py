"""A study of calibration: invent a portfolio, hide its last round, fit the rest, forecast, and look.

The proof that the ranges mean what they say, and the measure of what is lost when the truth has another shape.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .fitting import PortfolioFit, fit_table
from .layout import flatten
from .packing import Floats
from .parameters import PortfolioParams
from .portfolio import next_log_rates
from .scores import NAIVE, crps, log_score, naive_forecast, pit
from .simulate import (
    Plan,
    World,
    draw_params,
    draw_plan,
    simulate,
    to_histories,
    to_table,
)
from .types import RoundEvent, SpotTest, SurfaceHistory


class Rehearsal(NamedTuple):
    """One portfolio's forecasts against what came.

    rate_pits: (S,) chance of a true rate below the one that came, on the day of the hidden round
    round_pits: (S,) the same of the hidden round's mean log rate
    log_scores, crps: (S,) of the hidden round, by forecaster ("model" and the names in scores.NAIVE)
    """

    fit: PortfolioFit
    rate_pits: Floats
    round_pits: Floats
    log_scores: dict[str, Floats]
    crps: dict[str, Floats]


def ring_only(plan: Plan) -> Plan:
    """The plan with every round by the ring."""
    return plan._replace(method=np.zeros_like(plan.method))


def stop_at(world: World, n_events: int) -> World:
    """The first events of every surface."""
    lasting = {"surface_type", "z"}
    timed = {name: field[:n_events] for name, field in world.plan._asdict().items() if name not in lasting}
    return World(world.plan._replace(**timed), world.log_rate[:n_events], world.tests[:n_events])


def with_bounds(history: SurfaceHistory, lowest_mm_h: float, highest_mm_h: float) -> SurfaceHistory:
    """The history as it would be noted where a test can tell rates only between two limits."""

    def note(test: SpotTest) -> SpotTest:
        if test.rate_mm_h < lowest_mm_h:
            return SpotTest(lowest_mm_h, "<", test.location)
        return SpotTest(highest_mm_h, ">", test.location) if test.rate_mm_h > highest_mm_h else test

    events = tuple(
        event._replace(tests=tuple(note(test) for test in event.tests))
        if isinstance(event, RoundEvent)
        else event
        for event in history.events
    )
    return history._replace(events=events)


def rehearse(
    rng: np.random.Generator,
    n_surfaces: int,
    *,
    n_events: int = 7,
    params: PortfolioParams | None = None,
    types: int = 2,
    naive: bool = False,
) -> Rehearsal:
    """Run one portfolio of ring tests. params: one set, drawn from the priors when None; types: surface types in it."""
    plan = ring_only(draw_plan(rng, n_surfaces, n_events, types))
    world = simulate(rng, plan, draw_params(rng) if params is None else params)
    seen, last = stop_at(world, n_events - 1), plan.t_yr[-1]
    table = to_table(seen)
    fit = fit_table(table)
    rate_pits = pit(world.log_rate[-1], *next_log_rates(table, fit, last))
    value = np.nanmean(world.tests[-1], axis=-1)
    forecasts = {"model": next_log_rates(table, fit, last, plan.n_tests[-1].astype(float))}
    if naive:
        histories = to_histories(seen)
        forecasts |= {rule: naive_forecast(rule, histories, last) for rule in NAIVE}
    return Rehearsal(
        fit,
        rate_pits,
        pit(value, *forecasts["model"]),
        {name: log_score(value, *forecast) for name, forecast in forecasts.items()},
        {name: crps(value, *forecast) for name, forecast in forecasts.items()},
    )


def rehearse_all_kinds(
    rng: np.random.Generator,
    n_surfaces: int,
    *,
    n_events: int = 7,
    types: int = 2,
    highest_mm_h: float = 8_000.0,
) -> Floats:
    """(S,) PITs of the true rate on the last day, with every test method and with inequalities in the records."""
    plan = draw_plan(rng, n_surfaces, n_events, types)
    world = simulate(rng, plan, draw_params(rng))
    histories = [with_bounds(h, 30.0, highest_mm_h) for h in to_histories(world, n_events - 1)]
    table = flatten(histories)
    return pit(world.log_rate[-1], *next_log_rates(table, fit_table(table), plan.t_yr[-1]))
