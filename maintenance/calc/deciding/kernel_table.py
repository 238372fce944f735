"""Backward induction over the beliefs about surfaces, compiled: `table.settle` is the reference that it must equal."""

from __future__ import annotations

import numpy as np

from clogging.kernel import compiled, part, seldom
from maintenance.calc.deciding.handing_over import LANES, Matrices
from maintenance.calc.deciding.problem import Floats
from maintenance.calc.deciding.table import DONE_BELOW


@part
def _expect(moves: Matrices, k: int, first: int, row: int, values: Floats, found: Floats) -> None:
    """The expectation of a block's values (block, LANES) after a move from a row of it."""
    found[:] = 0.0
    for at in range(moves.ends[k, first + row], moves.ends[k, first + row + 1]):
        weight, column = moves.weights[at], moves.columns[at] - first
        for lane in range(LANES):
            found[lane] += weight * values[column, lane]


@part
def _offer(cost: float, found: Floats, row: int, best: Floats) -> None:
    """Take what costs less of (n, LANES) and a price with what it leads to."""
    for lane in range(LANES):
        best[row, lane] = min(best[row, lane], cost + found[lane])


@part
def _keep(cost: float, found: Floats, values: Floats, choice: int) -> None:
    """Write a choice into values (W, A + 2) of a row."""
    for level in range(values.shape[0]):
        values[level, choice] = cost + found[level]


@compiled
def settle(
    paid: Floats, moves: Matrices, below: Floats, beta: float, years: int, block: int, values: Floats
) -> None:
    """Backward induction over so many years into values (Q, n, W, A + 2).

    paid: (A + 1, Q, S); moves: waiting, each method, a test; below: (n, LANES) price of a step of time, beta: its
    discount; block: so many rows side by side lead to one another alone, and are gone through by themselves, since
    they fit into the processor's nearest memory. S surfaces have n / S rows each.
    """
    n, per = below.shape[0], below.shape[0] // paid.shape[2]
    after, stay, best = np.empty((block, LANES)), np.empty((block, LANES)), np.empty((block, LANES))
    for first in range(0, n, block):
        after[:] = 0.0
        own = paid[:, :, first // per]
        for t in range(years * paid.shape[1] - 1, -1, -1):
            step = t % paid.shape[1]
            kept = values[step, first : first + block] if t < paid.shape[1] else values[step, :0]
            _step_back(own[:, step], moves, below, beta, first, after, stay, best, kept)


@seldom
def _step_back(
    paid: Floats,
    moves: Matrices,
    below: Floats,
    beta: float,
    first: int,
    after: Floats,
    stay: Floats,
    best: Floats,
    kept: Floats,
) -> None:
    """One step of a block from row `first` on, from after to after; paid: (A + 1,). kept: the block's values, or none.

    What cannot be done is left out unless its value is to be kept.
    """
    block, methods, found, is_kept = after.shape[0], paid.size - 1, np.empty(LANES), kept.shape[0] > 0
    for row in range(block):
        _expect(moves, 0, first, row, after, found)
        for lane in range(LANES):
            stay[row, lane] = below[first + row, lane] + beta * found[lane]
        best[row] = stay[row]
        if is_kept:
            _keep(0.0, stay[row], kept[row], methods)
    for a in range(methods):
        for row in range(block if is_kept or paid[a] < DONE_BELOW else 0):
            _expect(moves, a + 1, first, row, stay, found)
            _offer(paid[a], found, row, best)
            if is_kept:
                _keep(paid[a], found, kept[row], a)
    after[:] = best
    for row in range(block if is_kept or paid[methods] < DONE_BELOW else 0):
        _expect(moves, methods + 1, first, row, best, found)
        _offer(paid[methods], found, row, after)
        if is_kept:
            _keep(paid[methods], found, kept[row], methods + 1)
