"""Histories and parameters for tests, and a second, dense way to the same densities."""

import numpy as np

from clogging.packing import flatten
from clogging.parameters import PRIOR_MEAN, PRIOR_SD, to_params
from clogging.priors import CLOCK_REFERENCE_YR, METHODS
from clogging.types import (
    CLEANING_METHODS,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    RoundEvent,
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


def _base(history, p):
    """Latent vector (b, lam): its mean and variances."""
    kind = SURFACE_TYPES.index(history.surface_type)
    c = history.conditions
    z = np.array([min(c.run_on_ratio, 5.0), c.bare_soil, c.trees, c.winter_grit, c.traffic], dtype=float)
    mean = [p.mu_b[kind, 0], p.mu_lam[kind, 0] + float(p.beta[:, 0] @ z)]
    return mean, [p.tau_b[0] ** 2, p.tau_lam[0] ** 2]


class DenseWorld:
    """All tests of one history as one joint normal, written from the model's statement and nothing else.

    Every independent random quantity is one entry of a latent vector; each log rate is a row over it.
    """

    def __init__(self, history, p):
        self.p = p
        self.mean, self.var = _base(history, p)
        self.rows, self.values, self.x_rows = [], [], []
        self.names = {}
        x, last = {0: 1.0}, 0.0
        for event in history.events:
            x = self._decline(x, last, event.t_yr)
            last = event.t_yr
            self.x_before = dict(x)
            x = self._clean(x, event) if isinstance(event, CleaningEvent) else x
            if isinstance(event, RoundEvent):
                self._tests(x, event)
            self.x_rows.append((self.x_before, dict(x)))
        self.x = x

    def _new(self, var):
        self.mean.append(0.0)
        self.var.append(var)
        return len(self.mean) - 1

    def _named(self, key, var):
        if key not in self.names:
            self.names[key] = self._new(var)
        return self.names[key]

    def _clock(self, t):
        return CLOCK_REFERENCE_YR * (t / CLOCK_REFERENCE_YR) ** self.p.clock[0]

    def _decline(self, x, t1, t2):
        x = dict(x)
        x[1] = x.get(1, 0.0) - (self._clock(t2) - self._clock(t1))
        if t2 > t1:
            x[self._new(self.p.drift_var[0] * (t2 - t1))] = 1.0
        return x

    def _clean(self, x, event):
        m = CLEANING_METHODS.index(event.method)
        k = event.share * (self.p.rho[m, 0] - event.wet * self.p.wet[m, 0])
        out = {key: (1.0 - k) * weight for key, weight in x.items()}
        out[0] = out.get(0, 0.0) + k
        out[self._new(event.share * self.p.sd_clean[m, 0] ** 2)] = 1.0
        return out

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
    "EMPTY",
    "PLAIN",
    "RICH",
    "DenseWorld",
    "fixed",
    "flatten",
    "ring",
    "some_params",
    "some_vector",
]
