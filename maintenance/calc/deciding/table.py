"""What every choice costs from here on, for a surface known so well or so badly: a dynamic programme over beliefs.

The state is what is known: the expected margin of the log rate over the limit and its standard deviation, the headroom
(log of the rate as new over the limit) and the decline a year. Waiting and cleaning move the margin as expected and
make it less sure; a test makes it surer and moves it by what it may read, at Gauss-Hermite nodes. So a test is a choice
with a price like a cleaning, and is made where what it may change is worth more. Each move is a sparse matrix of
interpolation weights, and backward induction by season goes on until the plan is settled (Puterman 1994, Markov
Decision Processes, ch. 4 and 6, and Kaelbling, Littman & Cassandra 1998, Artificial Intelligence 101:99, for plans over
beliefs; both from memory). Headroom and decline are taken as their means.

The rule of thumb it refines: holding a surface costs price x decline / (share restored x headroom) a year, and acting
pays once the chance of being below, times the price of that time, reaches it. Followed for fifteen years on surfaces
of the demo's kind a table for one usual doubt, with tests where the answer was near, cost 1.39 to 1.81 times what full
information does, this one 1.29 to 1.51 (benchmarks/deciding_worlds.py, seed 1): tests are made where they count.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_array
from scipy.special import ndtr

from clogging.api import CLEANING_METHODS, RENEWING_METHODS, SEALED_MM_H, Known, passage
from maintenance.calc.deciding.problem import DISCOUNT_YR, SPOTS_A_ROUND, Case, Floats, Ints, Mask

FAILS = 0.07  # share of cleanings after which nothing is better; our judgement, no source
_Point = tuple[Floats, Floats, Floats, Floats]
_Move = tuple[Floats, Floats, Floats]  # to which margin, headroom and sd


class Resolution(NamedTuple):
    """declines: (L,) log units a year; around: (C,) headrooms about a surface's own; sds: (D,) of the log rate;
    points of the margin; nodes of a normal; years of backward induction.
    """

    declines: Floats
    around: Floats
    sds: Floats
    points: int
    nodes: int
    years: int


USUAL = Resolution(
    np.array([0.0, 0.12, 0.25, 0.45, 0.8, 1.4]),
    np.array([-1.5, -0.5, 0.0, 0.6]),
    np.array([0.1, 0.2, 0.35, 0.6, 1.1]),
    points=32,
    nodes=3,
    years=16,
)


class Grid(NamedTuple):
    """S grids. lowest, width: (S,) of the margin; room: (S, C) headrooms; declines: (L,); sds: (D,); points: H."""

    lowest: Floats
    width: Floats
    room: Floats
    declines: Floats
    sds: Floats
    points: int

    @property
    def shape(self) -> tuple[int, int, int, int, int]:
        """(S, L, C, D, H)."""
        return (self.lowest.size, self.declines.size, self.room.shape[1], self.sds.size, self.points)

    def mesh(self) -> _Point:
        """Margin, headroom, decline and sd at every point, (S, L, C, D, H) each."""
        margin = self.lowest[:, None] + self.width[:, None] * np.arange(self.points)
        fields = (
            margin[:, None, None, None, :],
            self.room[:, None, :, None, None],
            self.declines[:, None, None, None],
            self.sds[:, None],
        )
        margin, room, decline, sd = (np.broadcast_to(field, self.shape) for field in fields)
        return margin, room, decline, sd


class Table(NamedTuple):
    """values: (Q, S * L * C * D * H * W, A + 2) money from a step on, discounted, after each of `methods`, after
    waiting, and after a test and what is best then; side by side, since they are read together.

    levels: W prices of time below side by side; methods: (A,) indices of those that suit any of the surfaces
    """

    grid: Grid
    values: Floats
    levels: int
    methods: Ints

    def costs(self, surface: Ints, level: Ints, step: int, at: _Point) -> Floats:
        """(A + 2, N) money from here on at margin, headroom, decline and sd (N,); surface, level: (N,) of S and W."""
        corners, weights = _around(self.grid, surface, at)
        around = self.values[step].take(corners * self.levels + level[:, None], axis=0)
        return np.asarray(np.matmul(weights[:, None, :], around)[:, 0].T)


def solve(
    known: Known,
    case: Case,
    *,
    below: Floats | None = None,
    fails: float = FAILS,
    how: Resolution = USUAL,
    by: Callable[[Steps, int], Floats] | None = None,
) -> Table:
    """The table of each surface as it is known, with the prices of the case.

    below: (W, S) other prices of a year below the limit than the case's own, W of them at the cost of little more
    than one; fails: share of cleanings that give nothing, without anybody seeing it but by a test
    by: does as `settle`
    """
    rooms = (known.mean[1] - case.log_limit)[:, None] + how.around
    lowest = np.log(SEALED_MM_H) - case.log_limit - 0.2
    width = np.maximum(rooms[:, -1] + 0.6 - lowest, 1.0) / (how.points - 1)
    grid = Grid(lowest, width, rooms, how.declines, how.sds, how.points)
    suits = np.isfinite(case.prices.cleaning) & case.workable.any(1)
    methods = np.flatnonzero(suits.any(1))
    moves = [_cleaning(grid, known, case, int(m), fails) for m in methods]
    below = case.prices.below[None] if below is None else below
    waiting, testing = _waiting(grid, known, case.steps_a_year), _testing(grid, known, how.nodes)
    beta = (1.0 + DISCOUNT_YR) ** (-1.0 / case.steps_a_year)
    prices, time_below = _paid(case, methods), _below(grid, below, case.steps_a_year)
    steps = Steps(waiting, moves, testing, prices, time_below, beta, int(np.prod(grid.shape[2:])))
    values = (by or settle)(steps, how.years)
    flat = np.ascontiguousarray(values).reshape(case.steps_a_year, -1, len(methods) + 2)
    return Table(grid, flat, len(below), methods)


class Steps(NamedTuple):
    """wait, moves, test: what each does to a value; below: (S L C D H, W) price of a step of time; beta: its discount.

    paid: (A + 1, Q, S) price of each method and last of a test, without end where it cannot be done
    block: so many rows side by side, of one surface and decline, lead to one another alone
    """

    wait: csr_array
    moves: list[csr_array]
    test: csr_array
    paid: Floats
    below: Floats
    beta: float
    block: int


def _paid(case: Case, methods: Ints) -> Floats:
    prices = np.where(case.workable, case.prices.cleaning[:, None], np.inf)[methods]
    paid = np.concatenate([prices, np.where(case.testable, case.prices.test, np.inf)[None]])
    return np.where(np.isfinite(paid), paid, _DEAREST)


def _below(grid: Grid, price: Floats, steps_a_year: int) -> Floats:
    """(S L C D H, W) price of a step of time, by the chance of being below in it; price: (W, S) a year."""
    margin, _, _, sd = grid.mesh()
    cost = price[..., None, None, None, None] * ndtr(-margin / sd) / steps_a_year
    return np.asarray(cost.reshape(len(price), -1).T)


def _place(value: Floats, nodes: Floats) -> tuple[Ints, Floats]:
    """Index of the node at or below a value (N,) among rising nodes (K, N) or (K,), and the fraction to the next."""
    if nodes.ndim == 1:
        low = nodes[1:-1].searchsorted(value, side="right")
        first, last = nodes[low], nodes[low + 1]
    else:
        low, columns = (value >= nodes[1:-1]).sum(0), np.arange(value.size)
        first, last = nodes[low, columns], nodes[low + 1, columns]
    return low, np.minimum(np.maximum((value - first) / (last - first), 0.0), 1.0)


def _around(grid: Grid, surface: Ints, at: _Point) -> tuple[Ints, Floats]:
    """Flat indices and weights (N, 16) of the corners about N points."""
    margin, room, decline, sd = at
    _, n_lam, n_room, n_sd, n_margin = grid.shape
    place = (margin - grid.lowest[surface]) / grid.width[surface]
    place = np.minimum(np.maximum(place, 0.0), n_margin - 1 - 1e-9)
    h = place.astype(np.int64)
    c, c_part = _place(room, grid.room[0] if len(grid.room) == 1 else grid.room[surface].T)
    d, d_part = _place(sd**2, grid.sds**2)
    g, g_part = _place(decline, grid.declines)
    first = (((surface * n_lam + g) * n_room + c) * n_sd + d) * n_margin + h
    weight, offset = np.ones((1, surface.size)), np.zeros(1, dtype=np.int64)
    jumps = (n_room * n_sd * n_margin, n_sd * n_margin, n_margin, 1)
    for part, jump in zip((g_part, c_part, d_part, place - h), jumps, strict=True):
        weight = np.concatenate([weight * (1.0 - part), weight * part])
        offset = np.concatenate([offset, offset + jump])
    return first[:, None] + offset, np.ascontiguousarray(weight.T)


def _matrix(grid: Grid, moves: list[tuple[float, _Move]]) -> csr_array:
    """Expectation of a value after moves, each with its share; all (S, L, C, D, H). The decline stays."""
    surface = np.repeat(np.arange(grid.shape[0]), np.prod(grid.shape[1:]))
    decline = grid.mesh()[2].ravel()
    corners, weights = [], []
    for share, move in moves:
        margin, room, sd = (np.broadcast_to(part, grid.shape).ravel() for part in move)
        corner, weight = _around(grid, surface, (margin, room, decline, sd))
        corners.append(corner)
        weights.append(share * weight)
    corner, weight = np.concatenate(corners, 1), np.concatenate(weights, 1)
    n, width = weight.shape
    used = weight.ravel() > 0.0
    ends = np.concatenate([[0], np.cumsum(used.reshape(n, width).sum(1))])
    matrix = csr_array((weight.ravel()[used], corner.ravel()[used], ends), shape=(n, n))
    matrix.sum_duplicates()
    return matrix


def _each(values: Floats) -> Floats:
    """(S,) beside every point of its grid."""
    return np.asarray(values)[:, None, None, None, None]


def _waiting(grid: Grid, known: Known, steps_a_year: int) -> csr_array:
    margin, room, decline, sd = grid.mesh()
    own = type(known.traits.pace)(*(_each(part) for part in known.traits.pace))
    span = passage(own, np.full((1, 1, 1, 1, 1), 1.0 / steps_a_year))
    to = span.keep * margin + (1.0 - span.keep) * room - span.fall * decline
    var = (span.keep * sd) ** 2 + np.maximum(span.noise, 0.0)
    return _matrix(grid, [(1.0, (to, room - span.sink * decline, np.sqrt(var)))])


def _cleaning(grid: Grid, known: Known, case: Case, method: int, fails: float) -> csr_array:
    """What a method does: as expected, with the doubt whether it did anything in the sd."""
    margin, room, _, sd = grid.mesh()
    traits = known.traits
    share, share_sd, scatter = (_each(f[method]) for f in (traits.share, traits.share_sd, traits.scatter))
    new_var = np.zeros((1, 1, 1, 1, 1))
    if CLEANING_METHODS[method] in RENEWING_METHODS:
        room = np.broadcast_to(_each(traits.new - case.log_limit), grid.shape)
        new_var = _each(traits.new_sd**2)
    gain = share * (room - margin)
    var = ((1.0 - share) * sd) ** 2 + share**2 * new_var + scatter**2 + (share_sd * (room - margin)) ** 2
    either = (1.0 - fails) * (var + fails * gain**2) + fails * sd**2
    return _matrix(grid, [(1.0, (margin + (1.0 - fails) * gain, room, np.sqrt(either)))])


def _testing(grid: Grid, known: Known, nodes: int) -> csr_array:
    """What a round of tests may say."""
    margin, room, _, sd = grid.mesh()
    noise = _each(known.traits.day_var + known.traits.spot_var / SPOTS_A_ROUND)
    after = sd * np.sqrt(noise / (sd**2 + noise))
    moves = sd**2 / np.sqrt(sd**2 + noise)
    places, shares = np.polynomial.hermite_e.hermegauss(nodes)
    told = zip(shares / shares.sum(), places, strict=True)
    return _matrix(grid, [(float(share), (margin + place * moves, room, after)) for share, place in told])


def settle(steps: Steps, years: int) -> Floats:
    """(Q, S L C D H, W, A + 2) after so many years of backward induction."""
    n_steps, per = steps.paid.shape[1], steps.below.shape[0] // steps.paid.shape[2]
    paid = np.repeat(steps.paid, per, axis=2)[..., None]
    values = np.empty((len(steps.moves) + 2, n_steps, *steps.below.shape))
    after = np.zeros(steps.below.shape)
    for t in range(years * n_steps - 1, -1, -1):
        step = t % n_steps
        stay = steps.below + steps.beta * (steps.wait @ after)
        values[-2, step] = stay
        for m, move in enumerate(steps.moves):
            values[m, step] = paid[m, step] + move @ stay
        untested = values[:-1, step].min(0)
        values[-1, step] = paid[-1, step] + steps.test @ untested
        after = np.minimum(untested, values[-1, step])
    return np.moveaxis(values, 0, -1)


_DEAREST = 1e15  # stands for what cannot be done; infinity times a weight of 0 is not a number
DONE_BELOW = 1e-3 * _DEAREST  # a cost beneath is of something that can be done


def can_be_done(costs: Floats) -> Mask:
    """Where a cost from `Table.costs` is of something that can be done."""
    return np.asarray(costs < DONE_BELOW)
