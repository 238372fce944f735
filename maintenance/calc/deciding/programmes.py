"""Programmes of care: what is done to a surface over the years, by calendar, by chance, or by the rule that decides."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from core.calc.paving import CleaningMethod
from maintenance.calc.deciding.problem import Floats, Ints, Mask

NEVER = np.inf


@dataclass(frozen=True, slots=True)
class Programme:
    """One way of caring for a surface.

    sweeps_a_year: cleanings by calendar with sweep_with; level, restore_with: a stronger method once the chance of
    being below has reached the level; worth_m2_yr: for the rule that decides, what it takes a year below the limit to
    be worth, None where the rule is not used; test_every_yr: by calendar; tests_when_due: as the rule asks
    stop_source: the source of sediment is stopped first
    """

    sweeps_a_year: float = 0.0
    sweep_with: CleaningMethod | None = None
    level: float | None = None
    restore_with: CleaningMethod | None = None
    worth_m2_yr: float | None = None
    test_every_yr: float | None = None
    tests_when_due: bool = False
    stop_source: bool = False


NOTHING = Programme()


class Orders(NamedTuple):
    """Programmes as arrays over N columns, methods by index and -1 for none; worth: (N,) money a year below."""

    sweeps_a_year: Floats
    sweep_with: Ints
    level: Floats
    restore_with: Ints
    decides: Mask
    worth: Floats
    test_every_yr: Floats
    tests_when_due: Mask
    stop_source: Mask


def orders(programmes: Sequence[Programme], area_m2: Floats, methods: Sequence[str]) -> Orders:
    """One programme a column; area_m2 (N,), methods in the order of their indices."""
    index: dict[CleaningMethod | None, int] = {CleaningMethod(name): i for i, name in enumerate(methods)}
    index[None] = -1
    return Orders(
        np.array([p.sweeps_a_year for p in programmes], dtype=float),
        np.array([index[p.sweep_with] for p in programmes]),
        np.array([NEVER if p.level is None else p.level for p in programmes]),
        np.array([index[p.restore_with] for p in programmes]),
        np.array([p.worth_m2_yr is not None for p in programmes]),
        np.array([p.worth_m2_yr or 0.0 for p in programmes]) * area_m2,
        np.array([p.test_every_yr or NEVER for p in programmes]),
        np.array([p.tests_when_due for p in programmes]),
        np.array([p.stop_source for p in programmes]),
    )


def sweep_steps(per_year: Floats, workable: Mask) -> Mask:
    """(Q, N) steps in which a calendar of per_year sweepings has one, spread over the workable steps (Q, N).

    Less than one a year is one in the first workable step of the years that `is_sweeping_year` names.
    """
    count = workable.sum(0)
    place = np.cumsum(workable, axis=0) - 1
    wanted = np.minimum(np.ceil(per_year), count)
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = np.floor((place + 1) * wanted / count) > np.floor(place * wanted / count)
    return np.asarray(workable & turn & (wanted > 0))


def is_sweeping_year(per_year: Floats, year: int) -> Mask:
    """(N,) whether a calendar of less than one sweeping a year has one in this year (0, 1, ...)."""
    share = np.where(per_year >= 1.0, 1.0, per_year)
    return np.asarray(np.floor((year + 1) * share + 1e-9) > np.floor(year * share + 1e-9))
