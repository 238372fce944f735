"""The coming year of one surface, month by month: when a cleaning pays, with what, and when a test is worth making.

The table says in which months a cleaning may pay; whether it does, and which method pays best, the futures say.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from clogging import api
from clogging.api import CLEANING_METHODS, Known
from core.calc.paving import CleaningMethod
from maintenance.calc.actions import LIKELY_SHARE
from maintenance.calc.deciding.compare import OWN_LEVEL
from maintenance.calc.deciding.problem import Case, Floats, Ints, Mask
from maintenance.calc.deciding.rule import Weighed, should_test, wants_fresh_test, weigh
from maintenance.calc.deciding.table import Table

MONTHS_AHEAD = 12

Savings = Callable[[Ints, int], Floats]  # of methods (K,) used so many steps from now: money each saves


@dataclass(frozen=True, slots=True)
class Acting:
    """A cleaning that pays, so many months from now. rivals: method and money saved, the best first."""

    months: int
    chance: float
    rivals: tuple[tuple[CleaningMethod, float], ...]
    wants_fresh_test: bool


@dataclass(frozen=True, slots=True)
class ComingYear:
    """cleaning: the first that pays; test_months: months until a test is worth making, None: not within the year

    today: methods and what each would save today, the best first, where none pays on a surface that is likely below
    """

    cleaning: Acting | None
    test_months: int | None
    today: tuple[tuple[CleaningMethod, float], ...]


def coming_year(
    known: Known,
    case: Case,
    table: Table,
    workable: Mask,
    *,
    month: int,
    since_test_yr: float,
    savings: Savings,
    level: int = OWN_LEVEL,
) -> ComingYear:
    """What the rule asks of one surface within the year.

    workable: (M, 12) months in which each method can be begun; month: today's, 1 to 12. The case has steps of whole
    months. A day that work finds closed is passed over. level: which price of time below of the table decides.
    savings: against waiting, as the futures say.
    """
    per_step = 12 // case.steps_a_year
    first = (month - 1) // per_step
    cleaning, test, today, tried = None, None, None, -1
    for ahead in range(MONTHS_AHEAD + 1):
        at, step = (month - 1 + ahead) % 12, (month - 1 + ahead) // per_step - first
        later = api.let_pass(known, ahead / 12.0) if ahead else known
        weighed = _weighed(later, case, (table, level), at // per_step, workable[:, at])
        since = np.array([since_test_yr + ahead / 12.0])
        if test is None and should_test(weighed, case, since, at // per_step)[0]:
            test = ahead
        likely = ahead == 0 and weighed.chance[0] >= LIKELY_SHARE
        if cleaning is None and step > tried and (weighed.pays[0] or likely):
            tried = step
            weighed = _as_carried_out(weighed, savings, step)
            if weighed.pays[0]:
                fresh = bool(wants_fresh_test(weighed, case, since)[0])
                cleaning = Acting(ahead, float(weighed.chance[0]), _ranked(weighed.gain[:, 0]), fresh)
            elif likely:
                today = _ranked(weighed.gain[:, 0])
    return ComingYear(cleaning, test, () if cleaning or today is None else today)


def _as_carried_out(weighed: Weighed, savings: Savings, step: int) -> Weighed:
    """The same with what each method that can be used saves on the futures."""
    able = np.flatnonzero(np.isfinite(weighed.gain[:, 0]))
    gain = np.full_like(weighed.gain, -np.inf)
    if able.size:
        gain[able, 0] = savings(able, step)
    return weighed._replace(gain=gain)


def _weighed(known: Known, case: Case, by: tuple[Table, int], step: int, able: Mask) -> Weighed:
    zero = np.zeros(1, dtype=np.int64)
    table, level = by
    weighed = weigh(known, case, table, (zero, zero + level), step)
    return weighed._replace(gain=np.where(able[:, None], weighed.gain, -np.inf))


def _ranked(gain: Floats) -> tuple[tuple[CleaningMethod, float], ...]:
    order = np.argsort(-gain, kind="stable")
    return tuple((CleaningMethod(CLEANING_METHODS[m]), float(gain[m])) for m in order if np.isfinite(gain[m]))
