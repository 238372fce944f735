"""Surfaces for the tests of deciding: few numbers, so that a reader can follow them."""

import numpy as np

from clogging import api
from clogging.api import CLEANING_METHODS, Known, Pace, Traits
from maintenance.calc.deciding.problem import Case, Prices
from maintenance.calc.deciding.rule import weigh

VACUUM, REFILL, RELAY = (CLEANING_METHODS.index(m) for m in ("vacuum", "joint_refill", "relay"))
N_METHODS = len(CLEANING_METHODS)


def known(x=(7.0,), new=8.5, lam=0.3, sd=0.2, kappa=0.0, drift=0.01):
    """Surfaces at these log rates, otherwise alike."""
    x = np.asarray(x, dtype=float)
    one = np.ones(x.size)
    share = np.outer([0.05, 0.2, 0.2, 0.28, 0.7, 0.8, 0.7, 0.95], one)
    traits = Traits(
        Pace(kappa * one, 0.0 * one, drift * one),
        share,
        0.05 * np.ones_like(share),
        0.2 * np.ones_like(share),
        new * one,
        0.3 * one,
        0.02 * one,
        0.1 * one,
        0.3 * one,
        0.05 * one,
    )
    cov = np.zeros((3, 3, x.size))
    cov[0, 0], cov[1, 1], cov[2, 2] = sd**2, 0.04, 0.0025
    return Known(np.stack([x, new * one, lam * one]), cov, traits)


def case(n=1, limit=250.0, steps=4, below=4000.0, test=150.0, ask_first=np.inf, prices=None):
    """Sweeping at 450, refilling at 4,500, relaying at 55,000, in every season."""
    cost = np.full((N_METHODS, n), np.inf)
    for method, price in (prices or {VACUUM: 450.0, REFILL: 4500.0, RELAY: 55_000.0}).items():
        cost[method] = price
    one = np.ones(n)
    return Case(
        np.log(limit) * one,
        Prices(cost, test * one, below * one, ask_first * one),
        np.isfinite(cost)[:, None].repeat(steps, axis=1),
        np.ones((steps, n), dtype=bool),
    )


def as_the_table_says(one, c, table, month, level):
    """Savings without luck, so that the months are the table's."""

    def savings(methods, step):
        zero = np.zeros(1, dtype=np.int64)
        later = api.let_pass(one, step / 4.0)
        return weigh(later, c, table, (zero, zero + level), ((month - 1) // 3 + step) % 4).gain[methods, 0]

    return savings
