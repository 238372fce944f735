"""Programmes of care carried out on true surfaces that nobody sees but by tests: what they cost and what they give."""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple, Protocol

import numpy as np

from clogging import api
from clogging.api import CLEANING_METHODS, Known
from maintenance.calc.deciding.problem import DISCOUNT_YR, SPOTS_A_ROUND, Case, Floats, Ints, Mask
from maintenance.calc.deciding.programmes import Orders, is_sweeping_year, sweep_steps
from maintenance.calc.deciding.rule import (
    EMPTY,
    NONE,
    Weighed,
    method_now,
    should_test,
    wants_fresh_test,
    weigh,
)
from maintenance.calc.deciding.table import Table


class World(Protocol):
    """True surfaces, N columns, of whatever kind."""

    def log_rate(self) -> Floats:
        """(N,) now."""
        ...

    def wait(self, years: float) -> None:
        """Let time pass."""
        ...

    def clean(self, method: Ints) -> None:
        """Clean by method (N,), -1 for none."""
        ...

    def read(self) -> Floats:
        """(N,) mean log result of a round of tests."""
        ...

    def stop_source(self, where: Mask) -> None:
        """Stop the source of sediment."""
        ...


class ModelWorld:
    """The posterior's own world. The luck of each step does not depend on what was done before.

    alike: so many groups of columns, one after another, have the same luck, as one surface under several programmes.
    """

    def __init__(self, drawn: api.Drawn, seed: int, alike: int = 1) -> None:
        self.drawn, self.seed, self.alike, self.step = drawn, seed, alike, 0

    def _luck(self, kind: int, size: int) -> Floats:
        normals = _normals(self.seed, self.step, kind, size, self.drawn.state.shape[1] // self.alike)
        return np.tile(normals, (1, self.alike))

    def log_rate(self) -> Floats:
        """(N,) now."""
        return np.asarray(self.drawn.state[0])

    def wait(self, years: float) -> None:
        """Let time pass."""
        self.drawn = api.let_pass_truly(self.drawn, years, self._luck(0, 1)[0])
        self.step += 1

    def clean(self, method: Ints) -> None:
        """Clean by method (N,), -1 for none."""
        self.drawn = api.cleaned_truly(self.drawn, method, self._luck(1, 2))

    def read(self) -> Floats:
        """(N,) mean log result of a round of tests."""
        return api.read_truly(self.drawn, SPOTS_A_ROUND, self._luck(2, 1)[0])

    def stop_source(self, where: Mask) -> None:
        """Stop the source of sediment."""
        self.drawn = api.source_stopped_truly(self.drawn, where, self._luck(3, 1)[0])


@lru_cache(maxsize=1_024)
def _normals(seed: int, step: int, kind: int, size: int, n: int) -> Floats:
    """The same for every surface and programme; drawn once, since drawing takes as long as what is done with them."""
    return np.random.default_rng([seed, step, kind]).normal(size=(size, n))


@lru_cache(maxsize=4)
def luck_of(seed: int, steps: int, n: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """The luck of `ModelWorld` in so many steps: of waiting, of what is new, of cleaning and of reading, (steps, n)
    each, and of stopping the source (n,).
    """
    waiting, cleaning, reading = (
        np.stack([_normals(seed, step, kind, size, n) for step in range(steps)])
        for kind, size in ((0, 1), (1, 2), (2, 1))
    )
    new, scatter = (np.ascontiguousarray(cleaning[:, i]) for i in range(2))
    return waiting[:, 0], new, scatter, reading[:, 0], _normals(seed, 0, 3, 1, n)[0]


class Outcome(NamedTuple):
    """What became of N columns over Y years; money as paid, not discounted.

    works, tests: (Y, N) money; below_yr: (Y, N) share of each year below the limit
    cleanings: (M, N) how often each method was used; rounds: (N,) of tests
    first: (N,) the method first used, -1 for none; first_yr: (N,) when, infinite for never
    """

    works: Floats
    tests: Floats
    below_yr: Floats
    cleanings: Ints
    rounds: Ints
    first: Ints
    first_yr: Floats


class Guide(NamedTuple):
    """Tables that programmes decide by. of: (N,) each column's surface in them; level: (N,) its price of time below."""

    table: Table
    of: Ints
    level: Ints


class Opening(NamedTuple):
    """What is done before a programme begins: nothing, and in one step a method. method: (N,), -1 for none."""

    method: Ints
    step: int


@dataclass
class _Run:
    """One run on its way."""

    world: World
    known: Known
    case: Case
    orders: Orders
    guide: Guide | None
    since_test: Floats
    outcome: Outcome
    swept: Mask

    @cached_property
    def deciding(self) -> Ints:
        """Columns whose programme decides by the table."""
        return np.flatnonzero(self.orders.decides)

    @cached_property
    def own(self) -> Case:
        """The case of those columns, of which every step asks."""
        return self.case.columns(self.deciding)

    @cached_property
    def restoring(self) -> Ints:
        """Columns whose programme has a stronger method in doubt."""
        return np.flatnonzero(self.orders.restore_with >= 0)

    def weigh(self, at: Ints, step: int) -> Weighed:
        """What acting now would save at columns `at`."""
        if self.guide is None:
            raise ValueError("A programme decides by a table, and none was given.")
        case = self.own if at is self.deciding else self.case.columns(at)
        own = self.guide.of[at], self.guide.level[at]
        return weigh(self.known.states(at), case, self.guide.table, own, step)


def simulate(
    world: World,
    known: Known,
    case: Case,
    orders: Orders,
    guide: Guide | None = None,
    *,
    since_test_yr: Floats,
    years: int,
    first_step: int = 0,
    opening: Opening | None = None,
) -> Outcome:
    """Carry programmes out for so many years, from step first_step of the calendar year on.

    since_test_yr: (N,) since the last test, infinite for none. A programme decides by what is known, which its tests
    renew; it pays for what is done and for the time that the true surface is below its limit. Raises ValueError where
    a programme decides by a table and there is none. opening: what comes before the programmes begin.
    """
    if orders.stop_source.any():
        world.stop_source(orders.stop_source)
        known = api.source_stopped(known, orders.stop_source)
    swept = _sweep_table(case, orders)
    run = _Run(
        world,
        known,
        case,
        orders,
        guide,
        since_test_yr.copy(),
        empty_outcome(years, known.mean.shape[1]),
        swept,
    )
    n_steps = case.steps_a_year
    for t in range(years * n_steps):
        year, step = t // n_steps, (first_step + t) % n_steps
        if opening is None or t > opening.step:
            weighed = _test(run, step, year)
            _clean(run, _ordered(run, weighed, step, year), year, t / n_steps)
        elif t == opening.step:
            _clean(run, opening.method, year, t / n_steps)
        _wait(run, year)
    return run.outcome


def empty_outcome(years: int, n: int) -> Outcome:
    """What has become of n columns before anything was done."""
    works, tests, below = np.zeros((3, years, n))
    return Outcome(
        works,
        tests,
        below,
        np.zeros((len(CLEANING_METHODS), n), dtype=np.int64),
        np.zeros(n, dtype=np.int64),
        np.full(n, NONE),
        np.full(n, np.inf),
    )


def _sweep_table(case: Case, orders: Orders) -> Mask:
    at = np.arange(orders.sweep_with.size)
    workable = np.moveaxis(case.workable[np.maximum(orders.sweep_with, 0), :, at], 0, 1)
    return sweep_steps(orders.sweeps_a_year, workable)


def _test(run: _Run, step: int, year: int) -> Weighed:
    """Make the tests that are due; what acting now would save at the columns that decide, as known after them."""
    orders, case, deciding = run.orders, run.case, run.deciding
    done = (run.since_test >= orders.test_every_yr - 1e-9) & case.testable[step]
    weighed = run.weigh(deciding, step) if deciding.size else EMPTY
    if deciding.size:
        since, own = run.since_test[deciding], run.own
        asked = should_test(weighed, own, since, step) & orders.tests_when_due[deciding]
        done[deciding] |= asked | (wants_fresh_test(weighed, own, since) & own.testable[step])
    if not done.any():
        return weighed
    run.known = api.tested(run.known, run.world.read(), SPOTS_A_ROUND, done)
    run.since_test[done] = 0.0
    run.outcome.tests[year] += np.where(done, case.prices.test, 0.0)
    run.outcome.rounds[done] += 1
    anew = np.flatnonzero(done[deciding])
    return weighed.replaced(anew, run.weigh(deciding[anew], step)) if anew.size else weighed


def _clean(run: _Run, method: Ints, year: int, now_yr: float) -> None:
    at = np.flatnonzero(method >= 0)
    if not at.size:
        return
    run.world.clean(method)
    run.known = api.cleaned(run.known, method)
    out = run.outcome
    out.works[year, at] += run.case.prices.cleaning[method[at], at]
    out.cleanings[method[at], at] += 1
    first = at[np.isinf(out.first_yr[at])]
    out.first[first], out.first_yr[first] = method[first], now_yr


def _ordered(run: _Run, weighed: Weighed, step: int, year: int) -> Ints:
    """(N,) what each programme uses in this step, -1 for nothing."""
    orders = run.orders
    sweeping = run.swept[step] & is_sweeping_year(orders.sweeps_a_year, year)
    method = np.where(sweeping, orders.sweep_with, NONE)
    _restore(run, method, step)
    at = run.deciding
    if at.size:
        untested = wants_fresh_test(weighed, run.own, run.since_test[at])
        method[at] = np.where(untested, NONE, method_now(weighed))
    return method


def _restore(run: _Run, method: Ints, step: int) -> None:
    """The stronger method of a programme, where it can be used in this step and the chance calls for it."""
    at, orders = run.restoring, run.orders
    if at.size:
        strong = orders.restore_with[at]
        chance = run.known.states(at).chance_now(run.case.log_limit[at])
        use = (chance >= orders.level[at]) & run.case.workable[strong, step, at]
        method[at[use]] = strong[use]


def _wait(run: _Run, year: int) -> None:
    """One step of time, with the share of it below the limit."""
    span, world = 1.0 / run.case.steps_a_year, run.world
    before = world.log_rate() < run.case.log_limit
    world.wait(span)
    after = world.log_rate() < run.case.log_limit
    run.outcome.below_yr[year] += 0.5 * span * (before.astype(float) + after)
    run.known = api.let_pass(run.known, span)
    run.since_test += span


def totals(outcome: Outcome, below_price: Floats, years: int, discount: float = DISCOUNT_YR) -> Floats:
    """(N,) discounted money of the first so many years: works, tests, and time below at a price (N,) a year."""
    paid = outcome.works + outcome.tests + below_price * outcome.below_yr
    weight = (1.0 + discount) ** -(np.arange(paid.shape[0]) + 0.5)
    return np.asarray((weight[:, None] * paid)[:years].sum(0))
