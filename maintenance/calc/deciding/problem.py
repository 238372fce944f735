"""What a decision about care rests on besides the state of the surfaces: prices, limits and seasons, as arrays.

N surfaces side by side, M = 8 ways of cleaning in the order of `clogging.api.CLEANING_METHODS`, Q steps a year.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from clogging.api import CLEANING_METHODS
from core.calc.paving import CleaningMethod
from maintenance.calc.suitability import RESTORING

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

RESTORES: Mask = np.array([CleaningMethod(method) in RESTORING for method in CLEANING_METHODS])
SPOTS_A_ROUND = 3  # tests of a usual round, for what one would tell

# Judgements of ours, no source.
DISCOUNT_YR = 0.03
FRESH_YR = 0.5  # a test this old still decides on a restoration


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost at N surfaces, in one currency.

    cleaning: (M, N), infinite where a method does not suit or is not offered; test: (N,) a round
    below: (N,) a year below the limit; ask_first: (N,) sum above which a restoration wants a fresh test
    """

    cleaning: Floats
    test: Floats
    below: Floats
    ask_first: Floats


@dataclass(frozen=True)
class Case:
    """N surfaces to decide on. log_limit: (N,); workable: (M, Q, N) steps of the year in which a method can be begun
    and ended; testable: (Q, N) steps without frost.
    """

    log_limit: Floats
    prices: Prices
    workable: Mask
    testable: Mask

    @property
    def steps_a_year(self) -> int:
        """Q."""
        return int(self.workable.shape[1])

    @cached_property
    def gap_yr(self) -> Floats:
        """(M, Q, N) years from a step to the next one after it in which a method can be begun; 1 where none is."""
        n_steps = self.steps_a_year
        gap = np.ones(self.workable.shape)
        for ahead in range(n_steps, 0, -1):
            gap = np.where(np.roll(self.workable, -ahead, axis=1), ahead / n_steps, gap)
        return gap

    def columns(self, at: Ints) -> "Case":
        """The same of some surfaces, which may be repeated."""
        prices = Prices(*(field[..., at] for field in _fields(self.prices)))
        return Case(self.log_limit[at], prices, self.workable[..., at], self.testable[..., at])

    def valued(self, below: Floats) -> "Case":
        """The same with another price (N,) of a year below the limit."""
        return Case(self.log_limit, replace(self.prices, below=below), self.workable, self.testable)


def _fields(prices: Prices) -> tuple[Floats, ...]:
    return prices.cleaning, prices.test, prices.below, prices.ask_first
