"""Invented portfolios of the model's own kind with a known truth, to see whether the fit finds it.

Seeds are passed in as generators. Worlds of other kinds, written from their own equations, are in
benchmarks/shape_worlds.py.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from . import priors
from .decline import Pace, passage
from .packing import EXACT, Floats, Ints, Step, StepTable
from .parameters import PRIOR_MEAN, PRIOR_SD, PortfolioParams, to_params
from .types import (
    CLEANING_METHODS,
    RENEWING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SpotTest,
    SurfaceHistory,
)


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


def _draw_surfaces(rng: np.random.Generator, plan: Plan, p: PortfolioParams) -> tuple[Floats, Floats]:
    """(S,) log rate as new and decline of each surface."""
    first, second = rng.normal(size=(2, plan.surface_type.size))
    usual = p.mu_lam[plan.surface_type, 0] + plan.z @ p.beta[:, 0]
    away = p.corr[0] * first + np.sqrt(1.0 - p.corr[0] ** 2) * second
    return p.mu_b[plan.surface_type, 0] + p.tau_b[0] * first, usual + p.tau_lam[0] * away


def _true_rates(rng: np.random.Generator, plan: Plan, p: PortfolioParams) -> Floats:
    """(J, S) log rate just after each event."""
    b, lam = _draw_surfaces(rng, plan, p)
    pace = Pace(p.kappa[plan.surface_type, 0], p.gamma[0], p.drift_var[0])
    gaps = np.diff(plan.t_yr, axis=0, prepend=0.0)
    out, x = np.empty(plan.t_yr.shape), b.copy()
    for j, gap in enumerate(gaps):
        span = passage(pace, gap)
        x = (
            span.keep * x
            + (1.0 - span.keep) * b
            - span.fall * lam
            + np.sqrt(span.noise) * rng.normal(size=b.size)
        )
        b = b - span.sink * lam
        x, b = _cleaned(rng, plan, p, j, x, b)
        out[j] = x
    return out


def _cleaned(
    rng: np.random.Generator, plan: Plan, p: PortfolioParams, j: int, x: Floats, b: Floats
) -> tuple[Floats, Floats]:
    """x and b just after the cleanings of event j."""
    method, done = np.maximum(plan.cleaning[j], 0), plan.cleaning[j] >= 0
    share = plan.share[j]
    regain = share * (p.rho[method, 0] - plan.wet[j] * p.wet[method, 0])
    scatter = np.sqrt(share) * p.sd_clean[method, 0] * rng.normal(size=b.size)
    renewed = done & np.isin(plan.cleaning[j], [CLEANING_METHODS.index(m) for m in RENEWING_METHODS])
    anew = p.mu_b[plan.surface_type, 0] + p.tau_b[0] * rng.normal(size=b.size)
    target = np.where(renewed, anew, b)
    x = np.where(done, x + regain * (target - x) + scatter, x)
    return x, np.where(renewed, b + share * (anew - b), b)


def _method_offsets(rng: np.random.Generator, plan: Plan, p: PortfolioParams) -> Floats:
    """(5, S) what each test method reads above the ring on each surface."""
    spread = np.array([0.0] + [priors.METHODS[key].surface_sd for key in TEST_METHODS[1:]])
    return p.offset + spread[:, None] * rng.normal(size=(len(TEST_METHODS), plan.surface_type.size))


def simulate(rng: np.random.Generator, plan: Plan, params: PortfolioParams) -> World:
    """Carry out a plan on surfaces drawn from the portfolio parameters (one set), spots chosen anew each day."""
    log_rate = _true_rates(rng, plan, params)
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
        "source": np.full((n_events, n), -1.0),
        "n": plan.n_tests,
        "df": np.where(tested, plan.n_tests - 1.0, 0.0),
        "ss": np.where(tested, squares, 0.0),
    }
    zero = np.zeros((n_events, n))
    rows = np.stack([columns.get(name, zero).T.ravel() for name in Step._fields], axis=1)
    first = np.arange(n + 1) * n_events
    return StepTable(plan.surface_type, plan.z, first, rows.astype(float), [()] * n, np.zeros((n, 3)))
