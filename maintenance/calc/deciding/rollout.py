"""What each method would save against waiting, carried out on futures drawn from what is known of one surface.

The table takes a surface for known; how far cleanings succeed and what later tests will tell is left out of it. Here a
method is used once, in one step of the year, and from the next step on a programme of care goes on, on the same
futures as after waiting (policy rollout: Bertsekas 2020, Rollout, Policy Iteration, and Distributed Reinforcement
Learning, ch. 2, from memory).
"""

from dataclasses import dataclass

import numpy as np

from clogging.api import CLEANING_METHODS, Drawn, Known
from maintenance.calc.deciding.compare import YEARS, Surroundings
from maintenance.calc.deciding.problem import Case, Floats, Ints
from maintenance.calc.deciding.programmes import Programme, orders
from maintenance.calc.deciding.rule import NONE
from maintenance.calc.deciding.simulate import Guide, ModelWorld, Opening, simulate, totals
from maintenance.calc.deciding.table import Table


@dataclass(frozen=True, slots=True)
class Rollout:
    """One surface on its futures, and the programme that goes on afterwards. level: the price of time it decides by."""

    known: Known
    drawn: Drawn
    case: Case
    table: Table
    around: Surroundings
    after: Programme
    level: int

    def savings(self, methods: Ints, step: int) -> Floats:
        """(K,) mean money that each of K methods saves, used `step` steps from now, against waiting there.

        Its price and all later work, tests and time below the limit within YEARS are counted, discounted.
        """
        arms, futures = np.append(methods, NONE), self.drawn.state.shape[1]
        n = arms.size * futures
        zero = np.zeros(n, dtype=np.int64)
        done = simulate(
            ModelWorld(
                self.drawn.columns(np.tile(np.arange(futures), arms.size)), self.around.seed, arms.size
            ),
            self.known.columns(zero),
            self.case.columns(zero),
            orders([self.after] * n, np.full(n, self.around.area_m2), CLEANING_METHODS),
            Guide(self.table, zero, zero + self.level),
            since_test_yr=np.full(n, self.around.since_test_yr),
            years=YEARS,
            first_step=self.around.first_step,
            opening=Opening(np.repeat(arms, futures), step),
        )
        below = np.full(n, self.around.worth_m2_yr * self.around.area_m2)
        cost = totals(done, below, YEARS).reshape(arms.size, futures).mean(1)
        return np.asarray(cost[-1] - cost[:-1])
