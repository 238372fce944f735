"""What compiled code reads of one surface, its futures and the programmes carried out on them, as plain arrays."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from clogging.api import CLEANING_METHODS, Traits
from maintenance.calc.deciding.problem import SPOTS_A_ROUND, Case, Floats, Ints, Mask
from maintenance.calc.deciding.programmes import Programme, is_sweeping_year, orders, sweep_steps
from maintenance.calc.deciding.simulate import Opening
from maintenance.calc.deciding.table import Steps, Table

LANES = 8  # prices of time below side by side, so that they fill the processor's registers; some may be idle


class Site(NamedTuple):
    """Prices and seasons of one surface: cleaning (M,), workable (M, Q), testable (Q,)."""

    log_limit: float
    cleaning: Floats
    test: float
    ask_first: float
    workable: Mask
    testable: Mask


class Nature(NamedTuple):
    """What F surfaces are like, or one as it is known: kappa, gamma, drift_var (F,); given (F, M, 5) as `Renewal`.

    noise_var: (F,) of a round of tests; source_factor, source_sd: (F,)
    """

    kappa: Floats
    gamma: Floats
    drift_var: Floats
    given: Floats
    noise_var: Floats
    source_factor: Floats
    source_sd: Floats


class Luck(NamedTuple):
    """Standard normals: of waiting, of what is new, of cleaning and of reading (T, F); of stopping the source (F,)."""

    waiting: Floats
    new: Floats
    cleaning: Floats
    reading: Floats
    source: Floats


class Orders(NamedTuple):
    """P programmes: swept (Q, P) by step, in_year (Y, P); the others (P,) as in `programmes.Orders`.

    opening: the method each begins with, -1 for none
    """

    swept: Mask
    in_year: Mask
    sweep_with: Ints
    chance: Floats
    restore_with: Ints
    decides: Mask
    test_every_yr: Floats
    tests_when_due: Mask
    stop_source: Mask
    price_level: Ints
    opening: Ints


class Lookup(NamedTuple):
    """The table of one surface: room (C,), declines (L,), variances (D,); values, levels, methods as in `Table`."""

    lowest: float
    width: float
    points: int
    room: Floats
    declines: Floats
    variances: Floats
    values: Floats
    levels: int
    methods: Ints


class Span(NamedTuple):
    """Years to go through, from which step of the calendar year; opening_step: -1 where a programme begins at once."""

    years: int
    first_step: int
    opening_step: int
    since_test_yr: float


class Matrices(NamedTuple):
    """K sparse matrices of n rows: ends (K, n + 1) of each row in columns and weights, which hold all of them."""

    ends: Ints
    columns: Ints
    weights: Floats


def site_of(case: Case) -> Site:
    """Of the one surface of a case."""
    prices = case.prices
    return Site(
        float(case.log_limit[0]),
        np.ascontiguousarray(prices.cleaning[:, 0]),
        float(prices.test[0]),
        float(prices.ask_first[0]),
        np.ascontiguousarray(case.workable[:, :, 0]),
        np.ascontiguousarray(case.testable[:, 0]),
    )


def nature_of(traits: Traits) -> Nature:
    """Of N columns, one for each."""
    n = traits.new.size
    given = np.empty((n, len(CLEANING_METHODS), 5))
    for i, field in enumerate((traits.share, traits.share_sd, traits.scatter)):
        given[..., i] = field.T
    given[..., 3], given[..., 4] = traits.new[:, None], traits.new_sd[:, None]
    kappa, gamma, drift_var = (np.ascontiguousarray(part, dtype=float) for part in traits.pace)
    noise_var = np.asarray(traits.day_var + traits.spot_var / SPOTS_A_ROUND)
    factor, factor_sd = (np.ascontiguousarray(part) for part in (traits.source_factor, traits.source_sd))
    return Nature(kappa, gamma, drift_var, given, noise_var, factor, factor_sd)


def orders_of(
    programmes: Sequence[Programme],
    levels: Sequence[int],
    case: Case,
    years: int,
    opening: Opening | None,
) -> Orders:
    """Programmes over so many years; levels: the price of time each decides by; opening: what each begins with."""
    n = len(programmes)
    given = orders(programmes, np.ones(n), CLEANING_METHODS)
    workable = case.workable[np.maximum(given.sweep_with, 0), :, 0].T
    swept = sweep_steps(given.sweeps_a_year, workable) & (given.sweep_with >= 0)
    return Orders(
        np.ascontiguousarray(swept),
        np.array([is_sweeping_year(given.sweeps_a_year, year) for year in range(years)]),
        given.sweep_with,
        given.level,
        given.restore_with,
        given.decides,
        given.test_every_yr,
        given.tests_when_due,
        given.stop_source,
        np.asarray(levels, dtype=np.int64),
        np.full(n, -1) if opening is None else opening.method,
    )


def lookup_of(table: Table) -> Lookup:
    """Of the one surface of a table."""
    grid = table.grid
    room, variances = np.ascontiguousarray(grid.room[0]), grid.sds**2
    edges = (float(grid.lowest[0]), float(grid.width[0]), grid.points)
    return Lookup(*edges, room, grid.declines, variances, table.values, table.levels, table.methods)


def matrices_of(steps: Steps) -> Matrices:
    """Of waiting, each method and a test."""
    matrices = (steps.wait, *steps.moves, steps.test)
    first = np.cumsum([0, *(matrix.nnz for matrix in matrices)])
    return Matrices(
        np.stack([at + matrix.indptr for at, matrix in zip(first, matrices, strict=False)]),
        np.concatenate([matrix.indices for matrix in matrices]),
        np.concatenate([matrix.data for matrix in matrices]),
    )
