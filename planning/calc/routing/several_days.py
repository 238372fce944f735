"""Work that takes several days: which crew begins it on which day, by integer programming (HiGHS through scipy).

It goes first, since nothing else can give it days in a row; what a crew-day is otherwise worth is its price.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import scipy  # optimize is loaded when first named
from scipy.sparse import csr_array

from planning.calc.routing.problem import Problem, Route, Stop, WorkOrder


class Block(NamedTuple):
    """An order that takes these days of a crew, one after another as it works."""

    order: WorkOrder
    crew: int
    days: tuple[int, ...]


def blocks_of(problem: Problem, order: WorkOrder) -> list[Block]:
    """Every way to place an order of several days."""
    found = []
    for crew, minutes in order.minutes.items():
        each = problem.crews[crew]
        away = 2 * int(problem.travel_min[each.depot, order.place])
        days = sorted(each.shifts)
        room = {
            day
            for day in days
            if minutes + away <= each.shifts[day].minutes and _fits_hours(problem, order, crew, day)
        }
        for first in range(len(days) - order.whole_days + 1):
            span = tuple(days[first : first + order.whole_days])
            begun = span[0] in order.days and (order.fixed is None or order.fixed == (crew, span[0]))
            if begun and room.issuperset(span):  # a short day between two long ones is one of the row
                found.append(Block(order, crew, span))
    return found


def _fits_hours(problem: Problem, order: WorkOrder, crew: int, day: int) -> bool:
    shift, each = problem.crews[crew].shifts[day], problem.crews[crew]
    way = int(problem.travel_min[each.depot, order.place])
    begins = max(shift.start + way, order.opens)
    ends = begins + order.minutes[crew]
    return ends <= order.closes and ends + int(problem.travel_min[order.place, each.depot]) <= shift.end


def place_blocks(problem: Problem, orders: Sequence[WorkOrder], day_worth: float) -> list[Block]:
    """Blocks that together are worth most, a crew-day at most once.

    orders: of several days; day_worth: money that a day brings otherwise
    """
    blocks = [block for order in orders for block in blocks_of(problem, order)]
    if not blocks:
        return []
    gain = np.array([_gain(problem, block, day_worth) for block in blocks])
    rows, columns = _members(blocks)
    matrix = csr_array((np.ones(rows.size), (rows, columns)), shape=(int(rows.max()) + 1, len(blocks)))
    solved = scipy.optimize.milp(
        -gain,
        constraints=scipy.optimize.LinearConstraint(matrix, ub=np.ones(matrix.shape[0])),
        integrality=np.ones(len(blocks)),
        bounds=scipy.optimize.Bounds(0, 1),
        options={"mip_rel_gap": 1e-4},
    )
    if solved.x is None:
        raise ValueError(f"The days of work of several days were not placed: {solved.message}")
    return [block for block, chosen in zip(blocks, solved.x, strict=True) if chosen > 0.5]


def _gain(problem: Problem, block: Block, day_worth: float) -> float:
    if block.order.fixed is not None:
        return 1e9  # settled with the owner: it comes before everything
    away = problem.there_and_back(block.crew, block.order.place)
    soon = 1e-6 * block.days[0]  # of equals, the earlier
    return block.order.worth_by(block.crew) - len(block.days) * (away + day_worth) - soon


def _members(blocks: Sequence[Block]) -> tuple[np.ndarray, np.ndarray]:
    """Row and column of every block in the constraints: one row an order, one a crew-day."""
    names: dict[object, int] = {}
    pairs = [
        (names.setdefault(name, len(names)), column)
        for column, block in enumerate(blocks)
        for name in (block.order.key, *((block.crew, day) for day in block.days))
    ]
    rows, columns = zip(*pairs, strict=True)
    return np.array(rows), np.array(columns)


def routes_of(problem: Problem, block: Block) -> list[Route]:
    """One route a day: there, the work of the day, and back."""
    order, each = block.order, problem.crews[block.crew]
    there = int(problem.travel_min[each.depot, order.place])
    back = int(problem.travel_min[order.place, each.depot])
    cost = problem.drive_cost(block.crew, (each.depot, order.place, each.depot))
    found = []
    for day in block.days:
        begins = max(each.shifts[day].start + there, order.opens)
        ends = begins + order.minutes[block.crew]
        stop = Stop(order.key, begins, ends)
        found.append(Route(block.crew, day, (stop,), begins - there, ends + back, there + back, cost))
    return found
