"""What each method would save against waiting, carried out on futures drawn from what is known of one surface.

The table takes a surface for known; how far cleanings succeed and what later tests will tell is left out of it. Here a
method is used once, in one step of the year, and from the next step on a programme of care goes on, on the same
futures as after waiting (policy rollout: Bertsekas 2020, Rollout, Policy Iteration, and Distributed Reinforcement
Learning, ch. 2, from memory).
"""

from dataclasses import dataclass

import numpy as np

from clogging.api import Drawn, Known
from maintenance.calc.deciding.compare import YEARS, Surroundings, carry_out
from maintenance.calc.deciding.problem import Case, Floats, Ints
from maintenance.calc.deciding.programmes import Programme
from maintenance.calc.deciding.rule import NONE
from maintenance.calc.deciding.simulate import Opening, totals
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
        done = carry_out(
            [self.after] * arms.size,
            [self.level] * arms.size,
            (self.known, self.drawn, self.case, self.table),
            self.around,
            Opening(arms, step),
        )
        below = np.full(arms.size * futures, self.around.worth_m2_yr * self.around.area_m2)
        cost = totals(done, below, YEARS).reshape(arms.size, futures).mean(1)
        return np.asarray(cost[-1] - cost[:-1])
