"""In which steps of the year a way of cleaning can be begun and brought to its end."""

from collections.abc import Collection
from math import ceil

import numpy as np

from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.problem import Mask
from maintenance.calc.windows import Climate, cold_months, job_days

DAYS_A_MONTH = 30.4


def workable_months(method: CleaningMethod, climate: Climate, hours: float) -> Mask:
    """(12,) months in which a job of so many hours can be begun early enough to end before frost or leaf fall.

    A job longer than the season can be begun where the season does: it is done in parts.
    """
    closed = climate.closed_months() | cold_months(method, climate.frost_months)
    free = np.array([month not in closed for month in range(1, 13)])
    if free.all():
        return free
    for months in range(ceil(job_days(hours) / DAYS_A_MONTH), 0, -1):
        able = np.all([np.roll(free, -ahead) for ahead in range(months)], axis=0)
        if able.any():
            return np.asarray(able)
    return free


def steps_of(months: Mask, steps_a_year: int) -> Mask:
    """(Q,) steps of the year in which any of the months (12,) falls. Raises ValueError where Q does not divide 12."""
    if steps_a_year < 1 or 12 % steps_a_year:
        raise ValueError(f"A year has 1, 2, 3, 4, 6 or 12 steps, got {steps_a_year}.")
    return np.asarray(months.reshape(steps_a_year, -1).any(1))


def unfrozen_months(frost_months: Collection[int]) -> Mask:
    """(12,) months in which the ground is not frozen; every month where all are."""
    free = np.array([month not in frost_months for month in range(1, 13)])
    return free if free.any() else np.ones(12, dtype=bool)
