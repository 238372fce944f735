"""Invented portfolios whose surfaces clog by their own equations, none of them the model's.

Every world is written in rates, not in logs of rates, from the statement beside it; a surface has a rate as new R0, a
time scale T and an effective age a that a cleaning sets back to where the equation has the rate it left. Ages run
unevenly: each span counts for itself times a random factor. Sources: floor, Borgwardt 2006 (summary: a power of ten
in some years, then near-equilibrium); linear, US EPA runoff model manual (clogging factor) and Blue-Green Systems
7(1):110 (abstract); accelerating, Kamali et al. 2017, J. Environ. Manage. 187:43-53 (abstract: 0.80 of the rate after
3 years, none after 7); uneven scatter, Al-Rubaei et al. 2013 (abstract: spots differ more after cleaning than
before); steps, outliers, S and weak cleaning, what users report, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from clogging.packing import Floats
from clogging.types import (
    CleaningEvent,
    Conditions,
    RoundEvent,
    SpotTest,
    SurfaceHistory,
)

SEALED = 0.001  # of the rate as new: what the equations that end at nothing are cut off at
LOWEST_MM_H, HIGHEST_MM_H = 30.0, 12_000.0  # what a test can tell, where a portfolio notes bounds


class Shape(NamedTuple):
    """left: share of R0 left at age a in units of T, falling; the rest are deviations from an even record."""

    left: Callable[[Floats], Floats]
    spills_a_year: float = 0.0
    outliers: float = 0.0
    uneven: bool = False
    weak: bool = False


def _even(a: Floats) -> Floats:
    return 10.0**-a


def _floor(a: Floats) -> Floats:
    return 0.05 + 0.95 * np.exp(-2.5 * a)


def _linear(a: Floats) -> Floats:
    return np.maximum(1.0 - 0.9 * a, SEALED)


def _accelerating(a: Floats) -> Floats:
    return np.maximum(1.0 - 0.9 * a**1.9, SEALED)


def _s_curve(a: Floats) -> Floats:
    """Little at first, fast about the middle, then a floor."""
    start, middle, width = 1.0 / (1.0 + np.exp(-4.0)), 1.0, 0.25
    return 0.02 + 0.98 / (1.0 + np.exp((a - middle) / width)) / start


SHAPES: dict[str, Shape] = {
    "even": Shape(_even),
    "floor": Shape(_floor),
    "linear in rate": Shape(_linear),
    "accelerating": Shape(_accelerating),
    "S": Shape(_s_curve),
    "steps": Shape(_even, spills_a_year=0.4),
    "outliers": Shape(_even, outliers=0.06),
    "uneven scatter": Shape(_even, uneven=True),
    "weak cleaning": Shape(_even, weak=True),
}
_AGES = np.linspace(0.0, 6.0, 6001)


class Program(NamedTuple):
    """How a portfolio is looked after. rounds: of tests; cleaned: some surfaces are cleaned between rounds

    fixed: tests at three fixed spots, else at three chosen each day; bounds: results outside LOWEST_MM_H to
    HIGHEST_MM_H are noted as bounds; refill: joints refilled at 5.2 years after five rounds, one round after it
    """

    rounds: int = 5
    cleaned: bool = True
    fixed: bool = False
    bounds: bool = False
    refill: bool = False


class Truth(NamedTuple):
    """A portfolio's records, and what became of its surfaces, nothing done after now.

    now_yr: (S,) date of the last round; ahead_yr: (H,) years after it; log_rate: (H, S); next_round: (S,) mean log
    result of three tests a year on
    """

    histories: list[SurfaceHistory]
    now_yr: Floats
    ahead_yr: Floats
    log_rate: Floats
    next_round: Floats


class Portfolio:
    """S surfaces of one world on their way through time."""

    def __init__(self, rng: np.random.Generator, shape: Shape, n: int) -> None:
        self.rng, self.shape, self.n = rng, shape, n
        self.new = np.exp(rng.normal(np.log(9_000.0) + rng.normal(0.0, 0.3), 0.45, n))
        self.scale = np.exp(rng.normal(np.log(7.0) + rng.normal(0.0, 0.2), 0.45, n))
        self.age, self.spilled = np.zeros(n), np.zeros(n)
        self.spots = rng.normal(0.0, 0.4, (n, 3))
        self.strength = rng.normal(0.7, 0.1, n) if not shape.weak else rng.normal(0.05, 0.15, n)

    def log_rate(self) -> Floats:
        return np.log(self.new * self.shape.left(self.age)) - self.spilled

    def wait(self, years: Floats) -> None:
        pace = np.exp(self.rng.normal(0.0, 0.25, self.n))
        self.age = self.age + years / self.scale * pace
        spills = self.rng.poisson(self.shape.spills_a_year * years)
        self.spilled = self.spilled + self.rng.gamma(np.maximum(spills, 1e-9), 0.6) * (spills > 0)

    def clean(self, done: Floats) -> None:
        """Sets a share of the lost log rate back, give or take; age is where the equation has what is left."""
        share = np.clip(self.strength + self.rng.normal(0.0, 0.08, self.n), -0.5, 1.0) * done
        lost = np.log(np.maximum(self.shape.left(self.age), SEALED)) * (1.0 - share)
        table = np.log(self.shape.left(_AGES))
        back = np.interp(-lost, -table, _AGES)
        self.age = np.where(share > 0.0, np.minimum(back, self.age), self.age)
        self.spilled = self.spilled * (1.0 - share)

    def test(self, fixed: bool) -> Floats:
        """(S, 3) log results of a day."""
        rng, n = self.rng, self.n
        lost = np.log(self.new) - self.log_rate()
        spread = 0.2 + 0.25 * np.clip(lost, 0.0, 4.0) if self.shape.uneven else np.full(n, 0.35)
        spots = self.spots if fixed else rng.normal(0.0, 0.4, (n, 3))
        wrong = (rng.random((n, 3)) < self.shape.outliers) * rng.choice([-1.8, 1.8], (n, 3))
        day = rng.normal(0.0, 0.15, (n, 1))
        return self.log_rate()[:, None] + day + spots + spread[:, None] * rng.normal(0.0, 1.0, (n, 3)) + wrong


def _round(t_yr: float, logs: Floats, program: Program) -> RoundEvent:
    tests = []
    for i, value in enumerate(logs):
        rate, bound = float(np.exp(value)), "="
        if program.bounds and rate > HIGHEST_MM_H:
            rate, bound = HIGHEST_MM_H, ">"
        elif program.bounds and rate < LOWEST_MM_H:
            rate, bound = LOWEST_MM_H, "<"
        tests.append(SpotTest(rate, bound, f"spot {i}" if program.fixed else None))  # type: ignore[arg-type]
    return RoundEvent(t_yr, "ring", tuple(tests))


def _schedule(rng: np.random.Generator, program: Program, n: int) -> tuple[Floats, Floats]:
    """(J, S) dates and whether the event is a cleaning."""
    if program.refill:
        dates = np.array([0.1, 1.2, 2.4, 3.7, 5.0, 5.2, 5.3])
        return np.repeat(dates[:, None], n, axis=1), np.repeat((dates == 5.2)[:, None], n, axis=1).astype(
            float
        )
    gaps = rng.uniform(0.6, 1.6, (2 * program.rounds - 1, n)) * 0.5
    gaps[0] = rng.uniform(0.0, 0.5, n)
    cleans = np.zeros(gaps.shape)
    cleans[1::2] = rng.random((program.rounds - 1, n)) < (0.3 if program.cleaned else 0.0)
    return np.cumsum(gaps, axis=0), cleans


def invent(
    rng: np.random.Generator, shape: Shape, n: int, program: Program, horizon_yr: float = 12.0
) -> Truth:
    """One portfolio of n surfaces of one kind, its records and its future."""
    surfaces = Portfolio(rng, shape, n)
    dates, cleans = _schedule(rng, program, n)
    tested = np.ones(len(dates), dtype=bool)
    tested[np.flatnonzero(cleans.all(1)) if program.refill else slice(1, None, 2)] = False
    events: list[list[RoundEvent | CleaningEvent]] = [[] for _ in range(n)]
    last = np.zeros(n)
    for date, clean, is_round in zip(dates, cleans, tested, strict=True):
        surfaces.wait(date - last)
        surfaces.clean(clean)
        logs = surfaces.test(program.fixed)
        for i in range(n):
            if clean[i]:
                events[i].append(CleaningEvent(float(date[i]), "joint_refill"))
            elif is_round:
                events[i].append(_round(float(date[i]), logs[i], program))
        last = date
    histories = [SurfaceHistory("picp", Conditions(), tuple(e)) for e in events]
    ahead, rates, following = np.linspace(0.0, horizon_yr, round(4 * horizon_yr) + 1), [], np.zeros(n)
    for i, years in enumerate(ahead):
        if i:
            surfaces.wait(np.full(n, years - ahead[i - 1]))
        rates.append(surfaces.log_rate())
        if years == 1.0:
            following = surfaces.test(program.fixed).mean(1)
    return Truth(histories, last, ahead, np.array(rates), following)
