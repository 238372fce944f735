"""The rule that decides, surface by surface and step by step: clean or wait, with what, and whether to test.

It takes what costs least from here on (`table`). A test is made where what it may change is worth more than it costs,
unless the rate is beyond doubt or was just found; and after LONGEST_UNTESTED_YR.
"""

from typing import NamedTuple

import numpy as np

from clogging.api import CLEANING_METHODS, Known
from maintenance.calc.deciding.problem import FRESH_YR, RESTORES, Case, Floats, Ints, Mask
from maintenance.calc.deciding.table import Table, can_be_done

JUST_TESTED_YR = 0.25
SURE = 0.01  # a chance of being below nearer than this to none or all leaves nothing to find out
LONGEST_UNTESTED_YR = 5.0
NONE = -1


class Weighed(NamedTuple):
    """N surfaces at one step of the year.

    gain: (M, N) money that each method saves against waiting, its price counted; -inf where it cannot be used now
    test_saves: (N,) money that a test now saves against the best without it, its price counted
    chance: (N,) of being below the limit now
    """

    gain: Floats
    test_saves: Floats
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


EMPTY = Weighed(np.empty((len(CLEANING_METHODS), 0)), np.empty(0), np.empty(0))


def weigh(known: Known, case: Case, table: Table, own: tuple[Ints, Ints], step: int) -> Weighed:
    """What acting now would save at each column; own: its surface (N,) and price of time below (N,) in the table."""
    x, b, lam = known.mean
    costs = table.costs(*own, step, (x - case.log_limit, b - case.log_limit, lam, known.sd))
    *cleaning, waiting, tested = costs
    gain = np.full((len(CLEANING_METHODS), x.size), -np.inf)
    for method, cost in zip(table.methods, cleaning, strict=True):
        gain[method] = np.where(can_be_done(cost), waiting - cost, -np.inf)
    return Weighed(gain, costs[:-1].min(0) - tested, known.chance_now(case.log_limit))


def should_test(weighed: Weighed, case: Case, since_test_yr: Floats, step: int) -> Mask:
    """(N,) where a test is due before deciding."""
    worth = (weighed.test_saves > 0.0) & (since_test_yr >= JUST_TESTED_YR - 1e-9)
    worth &= (weighed.chance >= SURE) & (weighed.chance <= 1.0 - SURE)
    due = worth | (since_test_yr >= LONGEST_UNTESTED_YR)
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
