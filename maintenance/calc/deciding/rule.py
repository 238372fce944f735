"""The rule that decides, surface by surface and step by step: clean or wait, with what, and whether to test.

It takes what costs least from here on (`table`). A test is made where the answer is near, so that the rate found could
change what is done, and the last one is a year old; and after LONGEST_UNTESTED_YR. The figures here were chosen on
seeds that the benchmark does not report.
"""

from typing import NamedTuple

import numpy as np

from clogging.api import CLEANING_METHODS, Known
from maintenance.calc.deciding.problem import FRESH_YR, RESTORES, Case, Floats, Ints, Mask
from maintenance.calc.deciding.table import Table, can_be_done

NEAR_SD = 1.5  # a rate so many sds lower would be answered by a cleaning
CAUTION = 0.5  # of each sd that is known less (or more) than the table takes for granted, off the margin
OLD_TEST_YR = 1.0
SURE = 0.01  # a chance of being below nearer than this to none or all leaves nothing to find out
LONGEST_UNTESTED_YR = 5.0
NONE = -1


class Weighed(NamedTuple):
    """N surfaces at one step of the year.

    waiting: (N,) money from here on when nothing is done now
    gain: (M, N) money that each method saves against waiting, its price counted; -inf where it cannot be used now
    gain_if_lower: (N,) the best gain were the rate NEAR_SD lower than believed
    chance: (N,) of being below the limit now
    """

    waiting: Floats
    gain: Floats
    gain_if_lower: Floats
    chance: Floats

    def replaced(self, at: Ints, part: "Weighed") -> "Weighed":
        """The same with columns `at` weighed anew."""
        whole = Weighed(*(field.copy() for field in self))
        for old, new in zip(whole, part, strict=True):
            old[..., at] = new
        return whole

    @property
    def pays(self) -> Mask:
        """(N,) whether acting now pays."""
        return np.asarray(self.gain.max(0) > 0.0)

    @property
    def best(self) -> Ints:
        """(N,) the method that saves most."""
        return np.asarray(self.gain.argmax(0))


EMPTY = Weighed(np.empty(0), np.empty((len(CLEANING_METHODS), 0)), np.empty(0), np.empty(0))


def weigh(known: Known, case: Case, table: Table, own: tuple[Ints, Ints], step: int) -> Weighed:
    """What acting now would save at each column; own: its surface (N,) and price of time below (N,) in the table."""
    x, b, lam = known.mean
    margin = x - case.log_limit - CAUTION * (known.sd - table.sd)
    both = np.concatenate([margin, margin - NEAR_SD * known.sd])
    twice = tuple(np.concatenate([part, part]) for part in (*own, b - case.log_limit, lam))
    costs = table.costs(twice[0], twice[1], step, (both, twice[2], twice[3]))
    gain = np.full((len(CLEANING_METHODS), both.size), -np.inf)
    gain[table.methods] = np.where(can_be_done(costs[:-1]), costs[-1] - costs[:-1], -np.inf)
    n = x.size
    return Weighed(costs[-1, :n], gain[:, :n], gain[:, n:].max(0), known.chance_below(case.log_limit))


def should_test(weighed: Weighed, case: Case, since_test_yr: Floats, step: int) -> Mask:
    """(N,) where a test is due before deciding."""
    near = (weighed.gain_if_lower > 0.0) & (since_test_yr >= OLD_TEST_YR)
    near &= (weighed.chance >= SURE) & (weighed.chance <= 1.0 - SURE)
    due = near | (since_test_yr >= LONGEST_UNTESTED_YR)
    return np.asarray((due | wants_fresh_test(weighed, case, since_test_yr)) & case.testable[step])


def wants_fresh_test(weighed: Weighed, case: Case, since_test_yr: Floats) -> Mask:
    """(N,) where the best is a restoration above the firm's sum and the last test is old."""
    best = weighed.best
    price = case.prices.cleaning[best, np.arange(best.size)]
    dear = RESTORES[best] & (price > case.prices.ask_first)
    return np.asarray(weighed.pays & dear & (since_test_yr > FRESH_YR))


def method_now(weighed: Weighed) -> Ints:
    """(N,) the method to use now, -1 for none."""
    return np.where(weighed.pays, weighed.best, NONE)
