"""Histories and parameters for tests, and a second, dense way to the same densities."""

import numpy as np
from scipy.integrate import quad
from scipy.linalg import expm

from clogging.layout import flatten
from clogging.parameters import PRIOR_MEAN, PRIOR_SD, to_params
from clogging.priors import METHODS
from clogging.types import (
    CLEANING_METHODS,
    RENEWING_METHODS,
    SOURCE_CHANGES,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
    SourceEvent,
    SpotTest,
    SurfaceHistory,
)


def ring(t_yr, *rates, method="ring"):
    """A round of readings at spots chosen that day."""
    return RoundEvent(t_yr, method, tuple(SpotTest(rate) for rate in rates))


def fixed(t_yr, method="ring", **rates):
    """A round of readings at named locations."""
    return RoundEvent(t_yr, method, tuple(SpotTest(rate, "=", name) for name, rate in rates.items()))


PLAIN = SurfaceHistory(
    "picp",
    Conditions(0.5, False, True, False, 1),
    (
        ring(0.0, 9000.0, 8000.0, 12000.0),
        ring(1.1, 6000.0, 4100.0),
        ring(2.4, 3500.0),
        CleaningEvent(2.6, "vacuum", 0.8, False),
        ring(2.6, 5200.0, 4400.0, 3900.0),
        ring(4.0, 2100.0, method="frame"),
        CleaningEvent(5.0, "regen_air", 1.0, True),
        ring(5.5, 900.0, 1100.0),
    ),
)

# Every kind of state: fixed locations, a method offset used on several days, several readings a day.
RICH = SurfaceHistory(
    "porous_asphalt",
    Conditions(1.5, True, False, True, 2),
    (
        fixed(0.2, a=15000.0, b=18000.0, c=9000.0),
        fixed(1.0, method="falling_head", a=40000.0, b=52000.0),
        CleaningEvent(1.7, "wash_vacuum", 1.0, True),
        RoundEvent(2.0, "ring", (SpotTest(7000.0, "=", "a"), SpotTest(4000.0), SpotTest(5000.0))),
        fixed(3.1, method="falling_head", b=21000.0),
        fixed(4.0, a=2500.0, b=1900.0, c=800.0),
    ),
)

# The same three fixed spots in every round, cleanings between: the usual case.
SPOTS = SurfaceHistory(
    "picp",
    Conditions(0.3, False, False, True, 1),
    (
        fixed(0.1, a=9000.0, b=12000.0, c=7000.0),
        fixed(1.2, c=6100.0, b=7000.0, a=5000.0),
        fixed(2.4, a=2500.0, b=4000.0, c=2600.0),
        CleaningEvent(2.6, "vacuum", 1.0, False),
        fixed(2.7, a=3000.0, b=5200.0, c=3300.0),
        fixed(4.0, a=2000.0, b=2900.0, c=1500.0),
    ),
)

# Renewals of part and of all of the area, and both changes of source.
CHANGED = SurfaceHistory(
    "resin_bound",
    Conditions(0.2, True, False, False, 1),
    (
        ring(0.1, 12000.0, 9000.0),
        ring(1.5, 5000.0, 6100.0),
        CleaningEvent(1.5, "mill", 0.4, False),
        ring(1.6, 7000.0),
        SourceEvent(2.2, "started"),
        ring(3.0, 1500.0, 900.0),
        SourceEvent(3.0, "stopped"),
        CleaningEvent(3.3, "relay", 1.0, True),
        ring(3.4, 14000.0, 9000.0, 9500.0),
        CleaningEvent(4.0, "vacuum", 0.9, False),
        ring(6.0, 8000.0, 7000.0),
    ),
)

BOUNDED = SurfaceHistory(
    "clay",
    Conditions(),
    (
        RoundEvent(0.0, "ring", (SpotTest(20000.0, ">"),)),
        RoundEvent(2.0, "ring", (SpotTest(3000.0), SpotTest(9000.0, ">"), SpotTest(50.0, "<"))),
        RoundEvent(3.0, "flooding", (SpotTest(20.0, "<"),)),
        CleaningEvent(3.5, "mill", 1.0, False),
        RoundEvent(4.0, "square_double_ring", (SpotTest(500.0),)),
    ),
)

EMPTY = SurfaceHistory("gravel", Conditions())


def some_vector(seed, size=0.4):
    """A parameter vector somewhere about the prior mean."""
    return PRIOR_MEAN + size * PRIOR_SD * np.random.default_rng(seed).normal(size=PRIOR_MEAN.size)


def some_params(seed=3):
    return to_params(some_vector(seed))


def _sum(*terms):
    """Rows over the latent vector added up: pairs of weight and row."""
    out = {}
    for weight, row in terms:
        for key, value in row.items():
            out[key] = out.get(key, 0.0) + weight * value
    return out


class DenseWorld:
    """All tests of one history as one joint normal, written from the model's statement and nothing else.

    Every independent random quantity is one entry of a latent vector; x, b and lam are rows over it.
    """

    def __init__(self, history, p):
        self.p, self.kind = p, SURFACE_TYPES.index(history.surface_type)
        self.mean, self.var = [1.0], [0.0]  # the constant
        conditions = history.conditions
        z = np.array([min(conditions.run_on_ratio, 5.0), *conditions[1:]], dtype=float)
        first, second = self._new(1.0), self._new(1.0)
        usual, c = p.mu_lam[self.kind, 0] + float(p.beta[:, 0] @ z), p.corr[0]
        self.b = {0: p.mu_b[self.kind, 0], first: p.tau_b[0]}
        self.lam = {0: usual, first: c * p.tau_lam[0], second: np.sqrt(1.0 - c**2) * p.tau_lam[0]}
        self.x = dict(self.b)
        self.rows, self.values, self.x_rows, self.names = [], [], [], {}
        last = 0.0
        for event in history.events:
            self._decline(event.t_yr - last)
            last, before = event.t_yr, dict(self.x)
            if isinstance(event, CleaningEvent):
                self._clean(event)
            elif isinstance(event, SourceEvent):
                at = SOURCE_CHANGES.index(event.kind)
                fresh = {self._new(p.sd_source[at, 0] ** 2): 1.0}
                self.lam = _sum((p.source_factor[at, 0], self.lam), (1.0, fresh))
            else:
                self._tests(self.x, event)
            self.x_rows.append((before, dict(self.x)))

    def _new(self, var):
        self.mean.append(0.0)
        self.var.append(var)
        return len(self.mean) - 1

    def _named(self, key, var):
        if key not in self.names:
            self.names[key] = self._new(var)
        return self.names[key]

    def _decline(self, years):
        """dx = -(lam + kappa (x - b)) dt + noise, db = -gamma lam dt, by the matrix exponential."""
        p, k = self.p, self.p.kappa[self.kind, 0]
        rates = np.array([[-k, k, -1.0], [0.0, 0.0, -p.gamma[0]], [0.0, 0.0, 0.0]])
        move = expm(rates * years)
        noise = p.drift_var[0] * quad(lambda s: np.exp(-2.0 * k * s), 0.0, years, epsabs=1e-15)[0]
        fresh = {self._new(noise): 1.0} if years > 0.0 else {}
        x, b, lam = self.x, self.b, self.lam
        self.x = _sum((move[0, 0], x), (move[0, 1], b), (move[0, 2], lam), (1.0, fresh))
        self.b = _sum((1.0, b), (move[1, 2], lam))

    def _clean(self, event):
        p, m = self.p, CLEANING_METHODS.index(event.method)
        k = event.share * (p.rho[m, 0] - event.wet * p.wet[m, 0])
        target = self.b
        if event.method in RENEWING_METHODS:
            target = {0: p.mu_b[self.kind, 0], self._new(p.tau_b[0] ** 2): 1.0}
            self.b = _sum((1.0 - event.share, self.b), (event.share, target))
        scatter = {self._new(event.share * p.sd_clean[m, 0] ** 2): 1.0}
        self.x = _sum((1.0 - k, self.x), (k, target), (1.0, scatter))

    def _tests(self, x, event):
        p = self.p
        day = self._new(p.sd_day[0] ** 2)
        spot, share = p.sd_spot[0] ** 2, p.location_share[0]
        for test in event.tests:
            row = {**x, day: 1.0}
            if event.method != "ring":
                row[self._named(event.method, METHODS[event.method].surface_sd ** 2)] = 1.0
            if test.location:
                row[self._named("at " + test.location, share * spot)] = 1.0
            row[self._new(spot * (1.0 - share) if test.location else spot)] = 1.0
            self.rows.append((row, float(p.offset[TEST_METHODS.index(event.method), 0])))
            self.values.append(np.log(test.rate_mm_h))

    def moments(self, rows):
        """Mean and covariance of rows over the latent vector."""
        matrix = np.zeros((len(rows), len(self.mean)))
        for i, row in enumerate(rows):
            for key, weight in row.items():
                matrix[i, key] = weight
        return matrix @ np.array(self.mean), matrix * np.array(self.var) @ matrix.T

    def tests(self):
        mean, cov = self.moments([row for row, _ in self.rows])
        return mean + np.array([shift for _, shift in self.rows]), cov

    def given_tests(self, rows):
        """Mean and covariance of rows given every test."""
        together = [row for row, _ in self.rows] + rows
        mean, cov = self.moments(together)
        n = len(self.rows)
        seen_mean, seen_cov = self.tests()
        weights = np.linalg.solve(seen_cov, cov[:n, n:]).T
        new_mean = mean[n:] + weights @ (np.array(self.values) - seen_mean)
        return new_mean, cov[n:, n:] - weights @ cov[:n, n:]


__all__ = [
    "BOUNDED",
    "CHANGED",
    "EMPTY",
    "PLAIN",
    "RICH",
    "SPOTS",
    "DenseWorld",
    "fixed",
    "flatten",
    "ring",
    "some_params",
    "some_vector",
]
