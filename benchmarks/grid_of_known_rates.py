"""A dynamic programme over surfaces whose rate is known, or known as well as usual: what advice is measured against.

Margin over the limit, headroom and decline on a grid; Gauss-Hermite nodes for what is not known before; backward
induction by season (Puterman 1994, Markov Decision Processes, ch. 4 and 6, from memory). It has nothing in common with
the table that advises but its prices: tests are no choice in it, and doubt is the same whatever is done.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_array
from scipy.special import ndtr

from clogging.api import CLEANING_METHODS, RENEWING_METHODS, SEALED_MM_H, Known, Pace, passage
from maintenance.calc.deciding.problem import DISCOUNT_YR, Case, Floats, Ints, Mask

USUAL_SD = 0.35  # of a log rate when deciding: a test of the last year or two; our judgement
_Point = tuple[Floats, Floats, Floats]


class Resolution(NamedTuple):
    """declines: (L,) log units a year; around: (C,) headrooms about a surface's own; points of the margin; nodes of a
    normal; years of backward induction.
    """

    declines: Floats
    around: Floats
    points: int
    nodes: int
    years: int


USUAL = Resolution(
    np.array([0.0, 0.12, 0.25, 0.45, 0.8, 1.4]),
    np.array([-1.5, -0.5, 0.0, 0.6]),
    points=40,
    nodes=3,
    years=16,
)


class Grid(NamedTuple):
    """S grids. lowest, width: (S,) of the margin; room: (S, C) headrooms; declines: (L,); points: H."""

    lowest: Floats
    width: Floats
    room: Floats
    declines: Floats
    points: int

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """(S, L, C, H)."""
        return (self.lowest.size, self.declines.size, self.room.shape[1], self.points)

    def mesh(self) -> _Point:
        """Margin, headroom and decline at every point, (S, L, C, H) each."""
        margin = self.lowest[:, None] + self.width[:, None] * np.arange(self.points)
        fields = margin[:, None, None, :], self.room[:, None, :, None], self.declines[:, None, None]
        margin, room, decline = (np.broadcast_to(field, self.shape) for field in fields)
        return margin, room, decline


class Table(NamedTuple):
    """values: (A + 1, Q, S * L * C * H, W) money from a step on, discounted, after each of `methods`, then after none.

    methods: (A,) indices of those that suit any of the surfaces
    W prices of time below side by side; sd: of the log rate for which the chance of being below was counted
    """

    grid: Grid
    values: Floats
    methods: Ints
    sd: float

    def costs(self, surface: Ints, level: Ints, step: int, at: _Point) -> Floats:
        """(A + 1, N) money from here on at margin, headroom and decline (N,); surface, level: (N,) of S and W."""
        corners, weights = _around(self.grid, surface, at)
        return np.asarray(np.einsum("anc,nc->an", self.values[:, step][:, corners, level[:, None]], weights))


def solve(
    known: Known,
    case: Case,
    *,
    below: Floats | None = None,
    sd: float = USUAL_SD,
    fails: float = 0.0,
    how: Resolution = USUAL,
) -> Table:
    """The table of each surface as it is known, with the prices of the case.

    below: (W, S) other prices of a year below the limit than the case's own, W of them at the cost of little more
    than one; sd: of the log rate as it will be known when deciding, 0 for who sees it; fails: share of cleanings that
    give nothing
    """
    room = known.mean[1] - case.log_limit
    rooms = room[:, None] + how.around
    lowest = np.log(SEALED_MM_H) - case.log_limit - 0.2
    width = np.maximum(rooms[:, -1] + 0.6 - lowest, 1.0) / (how.points - 1)
    grid = Grid(lowest, width, rooms, how.declines, how.points)
    wait = _waiting(grid, known.traits.pace, case.steps_a_year, how)
    suits = np.isfinite(case.prices.cleaning) & case.workable.any(1)
    methods = np.flatnonzero(suits.any(1))
    moves = [_cleaning(grid, known, case, int(m), how) for m in methods]
    below = _below(grid, case.prices.below[None] if below is None else below, case.steps_a_year, sd)
    prices = np.where(case.workable, case.prices.cleaning[:, None], np.inf)[methods]
    return Table(grid, _settle(prices, (wait, moves, below), fails, how.years), methods, sd)


def _below(grid: Grid, price: Floats, steps_a_year: int, sd: float) -> Floats:
    """(S L C H, W) price of a step of time, by the chance of being below in it; price: (W, S) a year."""
    margin = grid.mesh()[0]
    width = grid.width[:, None, None, None]
    # Without doubt a point stands for half a cell on either side.
    chance = ndtr(-margin / sd) if sd > 0.0 else np.clip(0.5 - margin / width, 0.0, 1.0)
    cost = price[..., None, None, None] * chance / steps_a_year
    return np.asarray(cost.reshape(len(price), -1).T)


def _place(value: Floats, nodes: Floats) -> tuple[Ints, Floats]:
    """Index of the node at or below a value (N,) among rising nodes (K, N), and the fraction to the next."""
    low = np.clip((value >= nodes[1:-1]).sum(0), 0, len(nodes) - 2)
    columns = np.arange(value.size)
    first, last = nodes[low, columns], nodes[low + 1, columns]
    return low, np.clip((value - first) / (last - first), 0.0, 1.0)


def _around(grid: Grid, surface: Ints, at: _Point) -> tuple[Ints, Floats]:
    """Flat indices and weights (N, 8) of the corners about N points."""
    margin, room, decline = at
    _, n_lam, n_room, n_margin = grid.shape
    place = np.clip((margin - grid.lowest[surface]) / grid.width[surface], 0.0, n_margin - 1 - 1e-9)
    h = place.astype(np.int64)
    c, c_part = _place(room, grid.room[surface].T)
    g, g_part = _place(decline, np.broadcast_to(grid.declines[:, None], (n_lam, decline.size)))
    first = ((surface * n_lam + g) * n_room + c) * n_margin + h
    steps = np.array([[0, 1]]) * np.array([[n_room * n_margin], [n_margin], [1]])
    offset = (steps[0][:, None, None] + steps[1][:, None] + steps[2]).ravel()
    parts = [np.stack([1.0 - part, part]) for part in (g_part, c_part, place - h)]
    weight = parts[0][:, None, None] * parts[1][:, None] * parts[2]
    return first[:, None] + offset, weight.reshape(8, -1).T


def _matrix(grid: Grid, at: _Point, sd: Floats, nodes: int) -> csr_array:
    """Expectation of a value after a move to `at`, its margin give or take sd; all (S, L, C, H)."""
    surface = np.repeat(np.arange(grid.shape[0]), np.prod(grid.shape[1:]))
    margin, room, decline = (part.ravel() for part in at)
    places, shares = np.polynomial.hermite_e.hermegauss(nodes)
    corners, weights = [], []
    for place, share in zip(places, shares / shares.sum(), strict=True):
        corner, weight = _around(grid, surface, (margin + place * sd.ravel(), room, decline))
        corners.append(corner)
        weights.append(share * weight)
    corner, weight = np.concatenate(corners, 1), np.concatenate(weights, 1)
    n, width = weight.shape
    matrix = csr_array((weight.ravel(), corner.ravel(), np.arange(n + 1) * width), shape=(n, n))
    matrix.sum_duplicates()
    matrix.eliminate_zeros()
    return matrix


def _waiting(grid: Grid, pace: Pace, steps_a_year: int, how: Resolution) -> csr_array:
    margin, room, decline = grid.mesh()
    own = Pace(*(part[:, None, None, None] for part in pace))
    span = passage(own, np.full((1, 1, 1, 1), 1.0 / steps_a_year))
    to = span.keep * margin + (1.0 - span.keep) * room - span.fall * decline
    noise = np.broadcast_to(np.sqrt(np.maximum(span.noise, 0.0)), grid.shape)
    return _matrix(grid, (to, room - span.sink * decline, decline), noise, how.nodes)


def _cleaning(grid: Grid, known: Known, case: Case, method: int, how: Resolution) -> csr_array:
    """What a method does."""
    margin, room, decline = grid.mesh()
    if CLEANING_METHODS[method] in RENEWING_METHODS:
        room = np.broadcast_to((known.traits.new - case.log_limit)[:, None, None, None], grid.shape)
    to = margin + known.traits.share[method][:, None, None, None] * (room - margin)
    sd = np.broadcast_to(known.traits.scatter[method][:, None, None, None], grid.shape)
    return _matrix(grid, (to, room, decline), sd, how.nodes)


def _settle(
    prices: Floats, steps: tuple[csr_array, list[csr_array], Floats], fails: float, years: int
) -> Floats:
    """(A + 1, Q, S L C H, W) after so many years of backward induction. prices: (A, Q, S), infinite out of season."""
    wait, moves, below = steps
    n_steps, per = prices.shape[1], below.shape[0] // prices.shape[2]
    beta = (1.0 + DISCOUNT_YR) ** (-1.0 / n_steps)
    values = np.empty((len(moves) + 1, n_steps, *below.shape))
    after = np.zeros(below.shape)
    for t in range(years * n_steps - 1, -1, -1):
        step = t % n_steps
        stay = below + beta * (wait @ after)
        values[-1, step] = stay
        for m, move in enumerate(moves):
            done = (1.0 - fails) * (move @ stay) + fails * stay
            values[m, step] = np.repeat(prices[m, step], per)[:, None] + done
        after = values[:, step].min(0)
    return np.where(np.isfinite(values), values, _DEAREST)


_DEAREST = 1e15  # stands for what cannot be done; infinity times a weight of 0 is not a number


def can_be_done(costs: Floats) -> Mask:
    """Where a cost from `Table.costs` is of something that can be done."""
    return np.asarray(costs < 1e-3 * _DEAREST)
