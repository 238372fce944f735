"""Invented portfolios with a known truth, to see whether the model finds it. Seeds are passed in as generators.

Besides the model's own decline, three other published shapes, so that the cost of being wrong can be told:
rate linear in sediment load or treated volume (US EPA runoff model manual; Blue-Green Systems 7(1):110,
abstract), a decline that speeds up (Kamali et al. 2017, J. Environ. Manage. 187:43-53, abstract: 0.80 of the
rate left after 3 years, none after 7), and a fall to a plateau (Borgwardt 2006, summary: a power of ten in
5 to 10 years).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from . import priors
from .filtering import exposure_clock
from .packing import EXACT, Floats, Ints, Step, StepTable
from .parameters import PRIOR_MEAN, PRIOR_SD, PortfolioParams, to_params
from .types import (
    CLEANING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SpotTest,
    SurfaceHistory,
)

_LEFT_WHEN_CLOGGED = 0.002  # of the rate as new; the other shapes would reach zero, which has no logarithm


class Plan(NamedTuple):
    """Who is tested and cleaned when; S surfaces, J events each.

    surface_type: (S,); z: (S, 5) as in packing.conditions_row; t_yr: (J, S) ascending
    cleaning: (J, S) method of a cleaning, -1 for a test round; share, wet: (J, S)
    n_tests: (J, S) tests in a round; method: (J, S) test method
    """

    surface_type: Ints
    z: Floats
    t_yr: Floats
    cleaning: Ints
    share: Floats
    wet: Floats
    n_tests: Ints
    method: Ints


class World(NamedTuple):
    """A plan carried out. log_rate: (J, S) true x just after each event; tests: (J, S, n) log results, NaN unused."""

    plan: Plan
    log_rate: Floats
    tests: Floats


class Surfaces(NamedTuple):
    """What one surface is made of, (S,) each: log rate as new, its decline, and the portfolio's clock."""

    new: Floats
    decline: Floats
    clock: float


Shape = Callable[[Surfaces, Floats], Floats]


def model_shape(s: Surfaces, t_yr: Floats) -> Floats:
    """Log rate lost by age (J, S): the model's own decline."""
    with np.errstate(divide="ignore"):
        log_age = np.log(t_yr / priors.CLOCK_REFERENCE_YR)
    return s.decline * exposure_clock(log_age, np.array(s.clock))


def _lost(relative_rate: Floats) -> Floats:
    return -np.log(np.maximum(relative_rate, _LEFT_WHEN_CLOGGED))


def _to_a_tenth(s: Surfaces) -> Floats:
    """(S,) years until the model's decline, with an even clock, leaves a tenth of the rate."""
    return np.log(10.0) / np.maximum(s.decline, 0.02)


def linear_load_shape(s: Surfaces, t_yr: Floats) -> Floats:
    """Rate falls evenly to nothing; a tenth is left when the model's would be at a tenth (published: 9-12 years)."""
    lifetime = _to_a_tenth(s) / 0.9
    return _lost(1.0 - t_yr / lifetime)


def accelerating_shape(s: Surfaces, t_yr: Floats) -> Floats:
    """Rate falls as 1 - (t / T)^1.9, which fits the published 0.80 at 3 and 0 at T = 7 years.

    T goes with the decline: a tenth is left when the model's would be at a tenth.
    """
    lifetime = _to_a_tenth(s) / 0.9 ** (1.0 / 1.9)
    return _lost(1.0 - (t_yr / lifetime) ** 1.9)


def plateau_shape(s: Surfaces, t_yr: Floats) -> Floats:
    """Log rate falls to a plateau with a time constant of 3 years; the level goes with the decline."""
    return s.decline * 9.0 * -np.expm1(-t_yr / 3.0)


SHAPES: dict[str, Shape] = {
    "model": model_shape,
    "linear in load": linear_load_shape,
    "accelerating": accelerating_shape,
    "plateau": plateau_shape,
}


def draw_params(rng: np.random.Generator) -> PortfolioParams:
    """One set of portfolio parameters from the priors."""
    return to_params(PRIOR_MEAN + PRIOR_SD * rng.normal(size=PRIOR_MEAN.size))


def draw_plan(rng: np.random.Generator, n_surfaces: int, n_events: int, types: int = 4) -> Plan:
    """A usual mix: 1-3 types, tests about once a year from opening on, one event in six a cleaning.

    types: how many of the surface types the portfolio has. The last event is always a test round.
    """
    shape = (n_events, n_surfaces)
    kinds = rng.choice(len(SURFACE_TYPES), size=types, replace=False)
    gaps = rng.uniform(0.3, 1.7, size=shape)
    gaps[0] = rng.uniform(0.0, 0.2, size=n_surfaces)
    cleans = rng.random(shape) < 1.0 / 6.0
    cleans[0] = cleans[-1] = False
    methods = rng.choice([0, 1, 2, 3, 4, 7], size=shape)  # those that suit every type of paver
    flags = rng.random((n_surfaces, 3)) < 0.3
    z = np.column_stack(
        [rng.exponential(0.6, n_surfaces).clip(max=5.0), flags, rng.integers(0, 3, n_surfaces)]
    )
    return Plan(
        rng.choice(kinds, size=n_surfaces),
        z.astype(float),
        np.cumsum(gaps, axis=0),
        np.where(cleans, methods, -1),
        np.where(cleans, rng.choice([0.5, 1.0], size=shape), 0.0),
        np.where(cleans, rng.random(shape) < 0.25, 0).astype(float),
        np.where(cleans, 0, rng.integers(1, 6, size=shape)),
        np.where(rng.random(shape) < 0.1, rng.integers(1, 5, size=shape), 0),
    )


def _true_rates(rng: np.random.Generator, plan: Plan, p: PortfolioParams, shape: Shape) -> Floats:
    """(J, S) log rate just after each event."""
    n = plan.surface_type.size
    new = p.mu_b[plan.surface_type, 0] + p.tau_b[0] * rng.normal(size=n)
    usual = p.mu_lam[plan.surface_type, 0] + plan.z @ p.beta[:, 0]
    surfaces = Surfaces(new, usual + p.tau_lam[0] * rng.normal(size=n), float(p.clock[0]))
    fall = np.diff(shape(surfaces, plan.t_yr), axis=0, prepend=0.0)
    gaps = np.diff(plan.t_yr, axis=0, prepend=0.0)
    out, x = np.empty(plan.t_yr.shape), new.copy()
    for j in range(len(out)):
        x = x - fall[j] + np.sqrt(p.drift_var[0] * gaps[j]) * rng.normal(size=n)
        method, done = np.maximum(plan.cleaning[j], 0), plan.cleaning[j] >= 0
        regain = plan.share[j] * (p.rho[method, 0] - plan.wet[j] * p.wet[method, 0])
        scatter = np.sqrt(plan.share[j]) * p.sd_clean[method, 0] * rng.normal(size=n)
        x = np.where(done, x + regain * (new - x) + scatter, x)
        out[j] = x
    return out


def _method_offsets(rng: np.random.Generator, plan: Plan, p: PortfolioParams) -> Floats:
    """(5, S) what each test method reads above the ring on each surface."""
    spread = np.array([0.0] + [priors.METHODS[key].surface_sd for key in TEST_METHODS[1:]])
    return p.offset + spread[:, None] * rng.normal(size=(len(TEST_METHODS), plan.surface_type.size))


def simulate(
    rng: np.random.Generator, plan: Plan, params: PortfolioParams, shape: Shape = model_shape
) -> World:
    """Carry out a plan on surfaces drawn from the portfolio parameters (one set), spots chosen anew each day."""
    log_rate = _true_rates(rng, plan, params, shape)
    offset = np.take_along_axis(_method_offsets(rng, plan, params), plan.method, axis=0)
    day = log_rate + offset + params.sd_day[0] * rng.normal(size=log_rate.shape)
    most = int(plan.n_tests.max())
    spots = day[..., None] + params.sd_spot[0] * rng.normal(size=(*log_rate.shape, most))
    spots[np.arange(most) >= plan.n_tests[..., None]] = np.nan
    return World(plan, log_rate, spots)


def _event(world: World, j: int, i: int) -> RoundEvent | CleaningEvent:
    plan, t = world.plan, float(world.plan.t_yr[j, i])
    if plan.cleaning[j, i] >= 0:
        method = CLEANING_METHODS[plan.cleaning[j, i]]
        return CleaningEvent(t, method, float(plan.share[j, i]), bool(plan.wet[j, i]))
    logs = world.tests[j, i, : plan.n_tests[j, i]]
    return RoundEvent(t, TEST_METHODS[plan.method[j, i]], tuple(SpotTest(float(np.exp(v))) for v in logs))


def to_histories(world: World, n_events: int | None = None) -> list[SurfaceHistory]:
    """The first n_events (all by default) of every surface as histories."""
    plan, stop = world.plan, n_events or len(world.plan.t_yr)
    histories = []
    for i, kind in enumerate(plan.surface_type):
        run_on, soil, trees, grit, traffic = plan.z[i]
        conditions = Conditions(float(run_on), bool(soil), bool(trees), bool(grit), int(traffic))
        events = tuple(_event(world, j, i) for j in range(stop))
        histories.append(SurfaceHistory(SURFACE_TYPES[kind], conditions, events))
    return histories


def to_table(world: World) -> StepTable:
    """The same as packing.flatten(to_histories(world)) without the objects, for portfolios of any size.

    Only for plans whose test method is the ring, where no surface needs more than three states.
    """
    plan = world.plan
    n_events, n = plan.t_yr.shape
    if plan.method.any():
        raise ValueError("A table can be made at once only when every round is by the ring.")
    tested = plan.cleaning < 0
    count = np.where(tested, plan.n_tests, 1)
    results = np.where(np.isnan(world.tests), 0.0, world.tests)
    mean = results.sum(-1) / count
    squares = np.nansum((world.tests - mean[..., None]) ** 2, axis=-1)
    columns = {
        "event": np.broadcast_to(np.arange(n_events)[:, None], (n_events, n)),
        "t_yr": plan.t_yr,
        "cleaning": plan.cleaning,
        "share": plan.share,
        "wet": plan.wet,
        "code": np.where(tested, EXACT, 0),
        "y": np.where(tested, mean, 0.0),
        "inv_n": np.where(tested, 1.0 / count, 0.0),
        "day": tested,
        "method": np.where(tested, 0, -1),
        "method_slot": np.full((n_events, n), -1.0),
        "location_slot": np.full((n_events, n), -1.0),
        "n": plan.n_tests,
        "ss": np.where(tested, squares, 0.0),
    }
    zero = np.zeros((n_events, n))
    rows = np.stack([columns.get(name, zero).T.ravel() for name in Step._fields], axis=1)
    first = np.arange(n + 1) * n_events
    return StepTable(plan.surface_type, plan.z, first, rows.astype(float), [()] * n)
