"""Advice followed for fifteen years on surfaces like the demo's, in worlds that are and are not the model's.

Every policy sees the same surfaces with the same luck; what it pays for works, tests and time below the limit is
discounted. Worlds: the posterior's own; decline by what is left of the rate (a floor), and an accelerating one;
30 % of the decline lasting; cleanings 40 % weaker than believed. In all of them some cleanings give nothing at all.
Against the rule that advises: nothing, one and two sweepings a year, the first edition's rule (a 50 % chance calls
for the cheapest single cleaning with an 80 % chance to last a year), a dynamic programme on a grid with tests every
second year, and the same programme told the truth, which pays for no test. Two bounds between: the rate seen in every
quarter for nothing, and all told but the rate, with tests at their price. The dynamic programme is the reference:
backward induction over margin, headroom and decline (Puterman 1994, Markov Decision Processes, ch. 4, from memory).

Run as it stands it prints one line a world and policy; --seed chooses other surfaces and other luck.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from time import perf_counter
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from benchmarks import grid_of_known_rates as known_rates
from clogging import api
from clogging.decline import passage
from core.calc.care_value import BELOW_PRICE_M2_YR
from core.calc.paving import CleaningMethod
from core.calc.units import UnitSystem
from demo.calc.place import LIMITS, SITES, DemoSurface
from demo.calc.years import RING_MM, RoundDone, live_through
from maintenance.calc.costs import DEFAULT_TERMS, Terms, cleaning_cost, hours_needed
from maintenance.calc.deciding.problem import (
    DISCOUNT_YR,
    SPOTS_A_ROUND,
    Case,
    Floats,
    Ints,
    Mask,
    Prices,
)
from maintenance.calc.deciding.programmes import Programme, orders
from maintenance.calc.deciding.rule import method_now, should_test, weigh
from maintenance.calc.deciding.seasons import steps_of, unfrozen_months, workable_months
from maintenance.calc.deciding.simulate import Guide, simulate, totals
from maintenance.calc.deciding.table import Table, solve
from maintenance.calc.suitability import RESTORING, ROUTINE, suited_methods
from maintenance.calc.windows import Climate
from qa.calc.ring import ring_rate

TODAY = date(2026, 6, 1)
YEARS = 15
STEPS = 4
FIRST_STEP = 2  # the quarter from July on
METHODS = [CleaningMethod(name) for name in api.CLEANING_METHODS]
FROST, LEAVES = (12, 1, 2), (10, 11)
FAILS = 0.07  # share of cleanings that give nothing; our judgement
TEST_PRICE = (120.0, 0.03)  # a round, and a square metre
_FLOOR = float(np.log(18.0))


class Fleet(NamedTuple):
    """S surfaces of the demo's kind, as recorded until TODAY."""

    specs: list[DemoSurface]
    histories: list[api.SurfaceHistory]
    now_yr: Floats
    since_test: Floats
    area_m2: Floats
    case: Case


def fleet(seed: int, size: int = 40) -> Fleet:
    """The demo's first surfaces, each with years of its own."""
    return fleet_of([spec for site in SITES for spec in site.surfaces][:size], seed)


def fleet_of(specs: list[DemoSurface], seed: int) -> Fleet:
    """Any such surfaces, each with years of its own."""
    read = [_history(spec, Random(1000 * seed + i)) for i, spec in enumerate(specs)]
    area = np.array([spec.area_m2 for spec in specs])
    now = np.array([spec.age_yr for spec in specs])
    last = [max((e.t_yr for e in h.events if isinstance(e, api.RoundEvent)), default=-np.inf) for h in read]
    return Fleet(specs, read, now, now - np.array(last), area, _case(specs, area))


def _history(spec: DemoSurface, rng: Random) -> api.SurfaceHistory:
    opened = TODAY - timedelta(days=round(spec.age_yr * 365.25))
    events: list[api.Event] = []
    for done in live_through(spec, opened, TODAY, rng):
        t = (done.on - opened).days / 365.25
        if not isinstance(done, RoundDone):
            events.append(api.CleaningEvent(t, done.method, done.share, done.wet))
            continue
        rates = [ring_rate(r.test_mass, RING_MM, r.elapsed_s, UnitSystem.SI) for r in done.readings]
        events.append(api.RoundEvent(t, "ring", tuple(api.SpotTest(rate) for rate in rates)))
    conditions = api.Conditions(spec.run_on, spec.soil, spec.trees, spec.grit, int(spec.traffic))
    return api.SurfaceHistory(spec.kind.value, conditions, tuple(sorted(events, key=lambda e: e.t_yr)))


def _case(specs: Sequence[DemoSurface], area: Floats) -> Case:
    n = len(specs)
    cost, workable = np.full((len(METHODS), n), np.inf), np.zeros((len(METHODS), STEPS, n), dtype=bool)
    for i, spec in enumerate(specs):
        climate = Climate(FROST, LEAVES, spec.trees, spec.grit)
        for method in suited_methods(spec.kind):
            start, m = DEFAULT_TERMS[method], METHODS.index(method)
            terms = Terms(Decimal(start.cost_per_m2), Decimal(start.minimum_charge), start.output_m2_h)
            cost[m, i] = float(cleaning_cost(terms, spec.area_m2))
            months = workable_months(method, climate, hours_needed(terms, spec.area_m2))
            workable[m, :, i] = steps_of(months, STEPS)
    testable = np.repeat(steps_of(unfrozen_months(FROST), STEPS)[:, None], n, axis=1)
    prices = Prices(cost, TEST_PRICE[0] + TEST_PRICE[1] * area, BELOW_PRICE_M2_YR * area, np.full(n, np.inf))
    limits = np.array([LIMITS[spec.limit][0] for spec in specs])
    return Case(np.log(limits), prices, workable, testable)


class Truth:
    """True surfaces in one of the worlds, N columns. Random numbers do not depend on what is done."""

    def __init__(self, drawn: api.Drawn, seed: int, world: str) -> None:
        self.x, self.b, self.lam = drawn.state.copy()
        self.traits, self.world = drawn.traits, world
        self.seed, self.step, self.reads_exactly = seed, 0, False
        weak = 0.6 if world == "cleaning 40 % weaker" else 1.0
        self.share = drawn.traits.share * weak
        self.pace = drawn.traits.pace
        if world == "30 % lasting":
            self.pace = self.pace._replace(gamma=np.full(self.x.size, 0.3))
        if world in ("floor", "accelerating"):
            self.pace = self.pace._replace(kappa=np.zeros(self.x.size))

    def luck(self, kind: int, size: int = 1) -> Floats:
        """(size, N) standard normals of one kind at this step, whatever was done before."""
        rng = np.random.default_rng([self.seed, self.step, kind])
        return rng.normal(size=(size, self.x.size))

    def log_rate(self) -> Floats:
        return self.x

    def decline(self) -> Floats:
        """(N,) log units a year just now, by the world's own shape."""
        lost = np.maximum(self.b - self.x, 0.0)
        if self.world == "floor":  # dR/dt = -k (R - R_end), R_end a twentieth of new, so that fast at first
            left = np.exp(-lost)
            return 1.6 * self.lam * np.maximum(1.0 - 0.05 / np.maximum(left, 0.05), 0.0)
        if self.world == "accelerating":
            return self.lam * (0.4 + 0.5 * lost)
        return self.lam - self.pace.kappa * lost

    def straight_decline(self, kappa: Floats) -> Floats:
        """(N,) the decline that would be as fast just now in a model with this kappa."""
        return self.decline() + kappa * np.maximum(self.b - self.x, 0.0)

    def wait(self, years: float) -> None:
        noise = self.luck(0)[0]
        self.step += 1
        if self.world in ("floor", "accelerating"):
            moved = self.x - years * self.decline() + np.sqrt(self.traits.pace.drift_var * years) * noise
            self.x = np.maximum(moved, _FLOOR)
            return
        span = passage(self.pace, np.full(self.x.size, years))
        moved = span.keep * self.x + (1.0 - span.keep) * self.b - span.fall * self.lam
        self.x = np.maximum(moved + np.sqrt(span.noise) * noise, _FLOOR)
        self.b = self.b - span.sink * self.lam

    def clean(self, method: Ints) -> None:
        first, second, third = self.luck(1, 3)
        fails = ndtr(third) < FAILS
        m, done, at = np.maximum(method, 0), (method >= 0) & ~fails, np.arange(self.x.size)
        anew = np.isin(m, [METHODS.index(CleaningMethod(name)) for name in api.RENEWING_METHODS])
        self.b = np.where(done & anew, self.traits.new + self.traits.new_sd * first, self.b)
        after = self.x + self.share[m, at] * (self.b - self.x) + self.traits.scatter[m, at] * second
        self.x = np.where(done, after, self.x)

    def read(self) -> Floats:
        if self.reads_exactly:
            return self.x
        var = self.traits.day_var + self.traits.spot_var / SPOTS_A_ROUND
        return self.x + np.sqrt(var) * self.luck(2)[0]

    def stop_source(self, where: Mask) -> None:
        self.lam = np.where(where, self.traits.source_factor * self.lam, self.lam)


class Asked(NamedTuple):
    """What a policy may look at in one step; everything but `truth` is known to a person."""

    known: api.Known
    case: Case
    since_test: Floats
    step: int
    year: int
    truth: Truth


class Policy:
    """What somebody does with N columns: nothing, unless it says otherwise."""

    def tests(self, seen: Asked) -> Mask:
        return np.zeros(seen.since_test.size, dtype=bool)

    def method(self, seen: Asked) -> Ints:
        return np.full(seen.since_test.size, -1)


class GridPolicy(Policy):
    """The dynamic programme on the mean, with tests every second year."""

    def __init__(self, table: known_rates.Table, surface: Ints) -> None:
        self.table, self.surface = table, surface

    def tests(self, seen: Asked) -> Mask:
        return (seen.since_test >= 2.0 - 1e-9) & seen.case.testable[seen.step]

    def method(self, seen: Asked) -> Ints:
        x, b, lam = seen.known.mean
        return self.cheapest(seen, (x - seen.case.log_limit, b - seen.case.log_limit, lam))

    def cheapest(self, seen: Asked, at: tuple[Floats, Floats, Floats]) -> Ints:
        """(N,) what costs least from here on, -1 for nothing."""
        best = self.table.costs(self.surface, np.zeros_like(self.surface), seen.step, at).argmin(0)
        return np.append(self.table.methods, -1)[best]


class ToldPolicy(GridPolicy):
    """The same programme told the true state and its decline just now. It pays for no test."""

    def tests(self, seen: Asked) -> Mask:
        return np.zeros(seen.since_test.size, dtype=bool)

    def method(self, seen: Asked) -> Ints:
        truth, limit = seen.truth, seen.case.log_limit
        lam = truth.straight_decline(seen.known.traits.pace.kappa)
        return self.cheapest(seen, (truth.x - limit, truth.b - limit, lam))


class RateSeen(GridPolicy):
    """The rate is seen exactly in every quarter, for nothing; headroom and decline are learnt from it."""

    def tests(self, seen: Asked) -> Mask:
        return np.ones(seen.since_test.size, dtype=bool)


class AllButRate(Policy):
    """Everything is told but the rate itself, which tests at their price tell as well as they do; the rule decides."""

    def __init__(self, table: Table, surface: Ints) -> None:
        self.table, self.surface = table, surface

    def told(self, seen: Asked) -> api.Known:
        known, truth = seen.known, seen.truth
        cov = np.zeros_like(known.cov)
        cov[0, 0] = known.cov[0, 0]
        lam = truth.straight_decline(known.traits.pace.kappa)
        return known._replace(mean=np.stack([known.mean[0], truth.b, lam]), cov=cov)

    def tests(self, seen: Asked) -> Mask:
        own = self.surface, np.zeros_like(self.surface)
        found = weigh(self.told(seen), seen.case, self.table, own, seen.step)
        return should_test(found, seen.case, seen.since_test, seen.step)

    def method(self, seen: Asked) -> Ints:
        own = self.surface, np.zeros_like(self.surface)
        return method_now(weigh(self.told(seen), seen.case, self.table, own, seen.step))


class FirstEdition(Policy):
    """A 50 % chance calls for the cheapest single cleaning that lasts a year with a chance of 80 %."""

    def tests(self, seen: Asked) -> Mask:
        near = seen.known.chance_below(seen.case.log_limit) >= 0.10
        return near & (seen.since_test >= 0.75) & seen.case.testable[seen.step]

    def method(self, seen: Asked) -> Ints:
        known, case = seen.known, seen.case
        due = known.chance_below(case.log_limit) >= 0.5
        found = np.full(due.size, -1)
        for group in (ROUTINE, RESTORING):
            best, a_year = found.copy(), np.full(due.size, np.inf)
            for method in group:
                m = METHODS.index(method)
                after = api.cleaned(known, np.full(due.size, m))
                lasts = 1.0 - after.chance_below(case.log_limit, 1.0) >= 0.8
                years = np.clip(
                    (after.mean[0] - case.log_limit) / np.maximum(after.mean[2], 0.01), 0.05, 10.0
                )
                cost = case.prices.cleaning[m] / years
                better = lasts & (cost < a_year) & case.workable[m, seen.step]
                best, a_year = np.where(better, m, best), np.where(better, cost, a_year)
            found = np.where((found < 0), best, found)
        return np.where(due, found, -1)


class Followed(NamedTuple):
    """total: (N,) discounted money; works, tests: (N,) money a year; months: (N,) below the limit a year."""

    total: Floats
    works: Floats
    tests: Floats
    months: Floats


def follow(policy: Policy, truth: Truth, known: api.Known, case: Case, since_test: Floats) -> Followed:
    """Carry a policy out."""
    n, since = since_test.size, since_test.copy()
    works, tests, below = np.zeros((3, YEARS, n))
    span = 1.0 / STEPS
    for t in range(YEARS * STEPS):
        year, step = divmod(t, STEPS)
        step = (step + FIRST_STEP) % STEPS
        asked = policy.tests(Asked(known, case, since, step, year, truth))
        if asked.any():
            known = api.tested(known, truth.read(), SPOTS_A_ROUND, asked)
            since = np.where(asked, 0.0, since)
            tests[year] += np.where(asked, case.prices.test, 0.0)
        method = policy.method(Asked(known, case, since, step, year, truth))
        at = np.flatnonzero(method >= 0)
        truth.clean(method)
        known = api.cleaned(known, method)
        works[year, at] += case.prices.cleaning[method[at], at]
        before = (truth.log_rate() < case.log_limit).astype(float)
        truth.wait(span)
        below[year] += 0.5 * span * (before + (truth.log_rate() < case.log_limit))
        known, since = api.let_pass(known, span), since + span
    weight = (1.0 + DISCOUNT_YR) ** -(np.arange(YEARS) + 0.5)
    total = weight @ (works + tests + case.prices.below * below)
    return Followed(total, works.mean(0), tests.mean(0), 12.0 * below.mean(0))


WORLDS = ("posterior's own", "floor", "accelerating", "30 % lasting", "cleaning 40 % weaker")
FULL, GRID, RULE = "full information", "dynamic programme", "rule"
SEEN, TOLD = "rate seen", "all but the rate"


FINE = known_rates.Resolution(
    np.array([0.0, 0.1, 0.2, 0.35, 0.55, 0.85, 1.4]), np.array([-2.0, -1.0, -0.4, 0.0, 0.6]), 64, 5, 25
)


def _told(known: api.Known, world: str) -> api.Known:
    """The same with what is different in a world."""
    traits = known.traits
    if world == "cleaning 40 % weaker":
        traits = traits._replace(share=0.6 * traits.share)
    if world == "30 % lasting":
        traits = traits._replace(pace=traits.pace._replace(gamma=np.full(known.sd.size, 0.3)))
    return known._replace(traits=traits)


class Bench:
    """The demo's surfaces, what is known of them, and futures to follow policies through."""

    def __init__(self, seed: int, size: int, futures: int) -> None:
        self.seed, self.fleet = seed, fleet(seed, size)
        fit = api.fit_portfolio(self.fleet.histories)
        rng = np.random.default_rng([seed, 1])
        self.known, self.drawn = api.known_and_drawn(
            self.fleet.histories, fit, now_yr=list(self.fleet.now_yr), n_draws=futures, rng=rng
        )
        self.at = np.repeat(np.arange(self.fleet.now_yr.size), futures)
        self.columns, self.case = self.known.columns(self.at), self.fleet.case.columns(self.at)
        self.since_test = self.fleet.since_test[self.at]
        self._grids: dict[str, known_rates.Table] = {}
        self._tables: dict[str, Table] = {}

    def truth(self, world: str) -> Truth:
        return Truth(self.drawn, 7919 * self.seed + 1, world)

    def ordered(self, programme: Programme, world: str) -> Followed:
        """A programme of the application itself."""
        given = orders([programme] * self.at.size, self.fleet.area_m2[self.at], api.CLEANING_METHODS)
        if programme.sweep_with:
            given = given._replace(sweep_with=self.sweeper())
        done = simulate(
            self.truth(world),
            self.columns,
            self.case,
            given,
            Guide(self.rule(), self.at, np.zeros_like(self.at)),
            since_test_yr=self.since_test,
            years=YEARS,
            first_step=FIRST_STEP,
        )
        total = totals(done, self.case.prices.below, YEARS)
        return Followed(total, done.works.mean(0), done.tests.mean(0), 12.0 * done.below_yr.mean(0))

    def sweeper(self) -> Ints:
        """The sweeping that a calendar uses: suction where it suits."""
        wanted = (CleaningMethod.VACUUM, CleaningMethod.REGEN_AIR, CleaningMethod.BROOM)
        able = np.isfinite(self.case.prices.cleaning)
        found = np.full(self.at.size, -1)
        for method in wanted:
            m = METHODS.index(method)
            found = np.where((found < 0) & able[m], m, found)
        return found

    def grid(self, key: str) -> known_rates.Table:
        """The grid of known rates: as is believed, for who sees the rate, or for a world whose truth is told."""
        if key not in self._grids:
            known = self.known if key in (GRID, SEEN) else _told(self.known, key)
            sd, fails = (known_rates.USUAL_SD, 0.0) if key == GRID else (0.0, FAILS)
            self._grids[key] = known_rates.solve(known, self.fleet.case, how=FINE, sd=sd, fails=fails)
        return self._grids[key]

    def rule(self, world: str = WORLDS[0]) -> Table:
        """What the application decides by; in another world what it would, were it told what is different there."""
        if world not in self._tables:
            self._tables[world] = solve(_told(self.known, world), self.fleet.case)
        return self._tables[world]

    def rate_seen(self, world: str) -> Followed:
        """What came of it with the rate seen for nothing."""
        n, traits, truth = self.at.size, self.columns.traits, self.truth(world)
        sharp = traits._replace(day_var=np.full(n, 1e-8), spot_var=np.full(n, 1e-8))
        free = replace(self.case, prices=replace(self.case.prices, test=np.zeros(n)))
        truth.reads_exactly = True
        seer = RateSeen(self.grid(SEEN), self.at)
        return follow(seer, truth, self.columns._replace(traits=sharp), free, self.since_test)

    def all_but_rate(self, world: str) -> Followed:
        """What came of it with everything told but the rate."""
        policy, told = AllButRate(self.rule(world), self.at), _told(self.columns, world)
        return follow(policy, self.truth(world), told, self.case, self.since_test)

    def policies(self) -> dict[str, Callable[[str], Followed]]:
        """Everything that is compared, by name."""

        def carried(make: Callable[[str], Policy]) -> Callable[[str], Followed]:
            return lambda world: follow(
                make(world), self.truth(world), self.columns, self.case, self.since_test
            )

        sweep = CleaningMethod.VACUUM
        return {
            FULL: carried(lambda world: ToldPolicy(self.grid(world), self.at)),
            SEEN: self.rate_seen,
            TOLD: self.all_but_rate,
            GRID: carried(lambda _: GridPolicy(self.grid(GRID), self.at)),
            RULE: lambda world: self.ordered(
                Programme(worth_m2_yr=BELOW_PRICE_M2_YR, tests_when_due=True), world
            ),
            "nothing": lambda world: self.ordered(Programme(), world),
            "once a year": lambda world: self.ordered(Programme(1, sweep), world),
            "twice a year": lambda world: self.ordered(Programme(2, sweep), world),
            "first edition": carried(lambda _: FirstEdition()),
        }


def line(world: str, name: str, found: Followed, told: Followed, n: int) -> str:
    """One line of the table: money a surface and year, months below, ratio to full information."""
    ratio = found.total.sum() / told.total.sum()
    share = found.total.size // n
    return (
        f"{world:<22}{name:<20}{found.total.sum() / share / 1000:8.0f}{ratio:7.2f}"
        f"{found.works.mean():8.0f}{found.tests.mean():7.0f}{found.months.mean():7.2f}"
    )


HEADER = f"{'world':<22}{'policy':<20}{'total k':>8}{'ratio':>7}{'works':>8}{'tests':>7}{'months':>7}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--futures", type=int, default=16)
    options = parser.parse_args()
    start = perf_counter()
    bench = Bench(options.seed, 40, options.futures)
    print(HEADER)
    for world in WORLDS:
        found = {name: run(world) for name, run in bench.policies().items()}
        for name, each in found.items():
            print(line(world, name, each, found[FULL], bench.fleet.now_yr.size), flush=True)
    print(f"{perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
