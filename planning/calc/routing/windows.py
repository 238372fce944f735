"""A good plan: windows of a few days solved again and again by PyVRP, each kept only where the plan gets better.

Work of several days is placed first, then everything greedily; then each window is taken out and solved anew as a
routing problem with prizes. A large firm's windows are also split by region. What hangs on where other work was placed
comes last, and the windows are gone through once more with that other work held where it is. Iterations limit it, never
the clock: the same seed and iterations give the same plan on any machine under any load.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from planning.calc.routing.problem import Plan, Problem, Route, WorkOrder
from planning.calc.routing.several_days import Block, blocks_of, place_blocks, routes_of
from planning.calc.routing.ties import Bundle, Placed, Ties
from planning.calc.routing.timetable import Timetable, by_worth
from planning.calc.routing.timing import day_value, route_of
from planning.calc.routing.window import Window

DAYS, SHIFT = 4, 2
MOST_CREW_DAYS = 44  # of a window; more are split by region
MOST_WAITING = 400  # orders without a place that a window is offered, the nearest
PASSES = 4  # over what hangs on other work that hangs
MOST_WORK = (
    60_000  # rounds times crew-days to the power of 1.5, as the time of a round grows: under two minutes
)
LAST_ROUNDS = 1  # with what others hang on held where it is
Told = Callable[[float, float], bool]  # share done and value so far; False stops with the best so far


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look. iterations: of the solver, a window; rounds: over all the windows, at most; seed: of its luck
    settled: share by which a round must make the plan better for another one to follow
    """

    iterations: int = 60
    rounds: int = 20
    seed: int = 0
    settled: float = 0.001

    def for_size(self, problem: Problem) -> "Effort":
        """The same for a plan of usual size, fewer rounds for a larger one, so that it is ready in two minutes."""
        crew_days = sum(len(crew.shifts) for crew in problem.crews)
        return replace(self, rounds=max(1, min(self.rounds, int(MOST_WORK / max(1, crew_days) ** 1.5))))


def make_plan(problem: Problem, effort: Effort = Effort(), told: Told = lambda _share, _value: True) -> Plan:
    """The best plan found. It is feasible, never worse than the greedy one, and leaves nothing that fits and pays."""
    search = _Search(problem, effort, told)
    found = search.plan()
    if not effort.rounds or not search.anything_hangs():
        return found
    # What hangs on other work is placed after it, so a better plan of that can leave less room for this.
    first = _Search(problem, replace(effort, rounds=0), lambda _share, _value: not search.is_stopped).plan()
    return max(found, first, key=lambda plan: plan.value(problem))


class _Search:
    """One plan in the making: work of several days, and a timetable of all the rest."""

    def __init__(self, problem: Problem, effort: Effort, told: Told) -> None:
        self.problem, self.effort, self.told = problem, effort, told
        self.ties = Ties(problem)
        self.bundles = {bundle.order.key: bundle for bundle in self._bundles()}
        self.in_bundle = {part.key for bundle in self.bundles.values() for part in bundle.parts}
        self.settled = self._settle()
        self.asked = self._ready()
        self.blocks = self._blocks()
        blocked = {(block.crew, day) for block in self.blocks for day in block.days}
        self.table = Timetable(problem, blocked)
        self.told_share = 0.0
        self.is_stopped = False

    def plan(self) -> Plan:
        """Look for the best plan."""
        self.table.fill(by_worth(self.asked))
        going = self._tell(0.0)
        going = going and self._improve(self.asked, self.effort.rounds, 0)
        self._place_what_hangs()
        if going and self.anything_hangs():
            asked = self._held()
            self._improve(asked, LAST_ROUNDS, self.effort.rounds)
            self._place_what_hangs()
        return self._read()

    def _bundles(self) -> list[Bundle]:
        """Work done as one; not where that would crowd out what is settled for the day."""
        bundles = self.ties.bundles()
        inside = {part.key for bundle in bundles for part in bundle.parts}
        singly = [o for o in self.problem.orders if o.fixed is not None and o.key not in inside]
        tried = Timetable(self.problem)
        tried.fill([o for o in [*(b.order for b in bundles), *singly] if o.fixed is not None])
        crowded = {order.fixed for order in singly if order.key not in tried.at}
        crowded |= {b.order.fixed for b in bundles if b.order.key not in tried.at}
        return [
            bundle for bundle in bundles if bundle.is_settled or bundle.order.fixed not in crowded - {None}
        ]

    def anything_hangs(self) -> bool:
        """Whether the days of some work depend on where other work is placed."""
        return any(self.ties.hangs(o) and o.key not in self.in_bundle for o in self.problem.orders)

    def _settle(self) -> dict[str, Placed]:
        """What is settled and can be done beside what else is: what other work hangs on comes first."""
        done: dict[str, Placed] = {}
        fixed = [order for order in self.problem.orders if order.fixed is not None]
        for order in sorted(fixed, key=lambda o: (not self.ties.holds_others(o), o.key)):
            if order.key in self.in_bundle or self.ties.open_days(order, done):
                done |= self.ties.settled([order])
        return done

    def _ready(self) -> list[WorkOrder]:
        """Orders of one day that hang on nothing that is not settled."""
        found = [bundle.order for bundle in self.bundles.values()]
        for order in self.problem.orders:
            if order.whole_days or order.key in self.in_bundle:
                continue
            is_settled = order.fixed is not None and order.key in self.settled
            if is_settled or (order.fixed is None and not self.ties.hangs(order)):
                found.append(order)
        return [self._where_open(order, self.settled) for order in found]

    def _where_open(self, order: WorkOrder, done: dict[str, Placed]) -> WorkOrder:
        """An order, with its days as what is placed leaves them."""
        if order.fixed is not None:
            return order
        parts = self.bundles[order.key].parts if order.key in self.bundles else (order,)
        mine = {part.key for part in parts}
        others = {key: placed for key, placed in done.items() if key not in mine}
        beside = [part for part in parts if part.tie is None]
        days = order.days.intersection(*(self.ties.open_days(part, others) for part in beside))
        return order if days == order.days else replace(order, days=days)

    def _blocks(self) -> list[Block]:
        orders = [
            self._where_open(order, self.settled)
            for order in self.problem.orders
            if order.whole_days and not self.ties.hangs(order)
        ]
        return place_blocks(self.problem, orders, self._day_worth()) if orders else []

    def _day_worth(self) -> float:
        """What a crew's day brings where it is filled with other work: the median of greedy days, idle ones counted."""
        table = Timetable(self.problem)
        table.fill(by_worth(self.asked))
        return float(np.median([day_value(self.problem, day) for day in table.days])) if table.days else 0.0

    def _value(self) -> float:
        routes = sum(
            len(block.days) * self.problem.there_and_back(block.crew, block.order.place)
            for block in self.blocks
        )
        worth = sum(block.order.worth_by(block.crew) for block in self.blocks)
        return worth - routes + sum(day_value(self.problem, day) for day in self.table.days)

    def _tell(self, share: float) -> bool:
        self.told_share = max(self.told_share, min(1.0, share))
        self.is_stopped = not self.told(self.told_share, self._value())
        return not self.is_stopped

    def _improve(self, asked: Sequence[WorkOrder], rounds: int, after: int) -> bool:
        """Go over the windows until a round hardly helps; False where somebody wants the best so far."""
        value, every = self._value(), self.effort.rounds + LAST_ROUNDS * self.anything_hangs()
        for turn in range(after, after + rounds):
            before = value
            windows = _windows(self.table, turn)
            for done, rows in enumerate(windows, 1):
                _solve(self.table, rows, asked, self.effort, 1000 * turn + done)
                self.table.fill(by_worth(o for o in asked if o.key not in self.table.at))
                if not self._tell((turn + done / len(windows)) / every):
                    return False
            value = self._value()
            if value - before <= self.effort.settled * abs(value):
                break
        return True

    def _done(self) -> dict[str, Placed]:
        """Where everything is placed now."""
        found = {}
        for day in self.table.days:
            for order in day.orders:
                for part in self._parts(order):
                    found[part.key] = self.ties.placed(part, day.crew, [day.day])
        for block in self.blocks:
            found[block.order.key] = self.ties.placed(block.order, block.crew, block.days)
        return found

    def _parts(self, order: WorkOrder) -> Sequence[WorkOrder]:
        bundle = self.bundles.get(order.key)
        return bundle.parts if bundle else (order,)

    def _place_what_hangs(self) -> None:
        """Put what is left on the days that are open to it by where other work stands, one after another."""
        for _ in range(PASSES):
            done, found = self._done(), False
            left = [o for o in self.problem.orders if o.key not in done]
            for order in by_worth(left):
                tried = replace(order, days=self.ties.open_days(order, done))
                put = self._put_whole if order.whole_days else self.table.put
                if tried.days and put(tried):
                    done, found = self._done(), True
            if not found:
                return

    def _put_whole(self, order: WorkOrder) -> bool:
        """Give work of several days the best of the days in a row that are idle; False where none is worth it."""
        found = []
        for block in blocks_of(self.problem, order):
            rows = [self.table.row_of.get((block.crew, day)) for day in block.days]
            if all(row is not None and self._is_idle(row) for row in rows):
                away = len(block.days) * self.problem.there_and_back(block.crew, order.place)
                found.append((order.worth_by(block.crew) - away, block))
        if not found:
            return False
        gain, best = max(found, key=lambda pair: (pair[0], -pair[1].days[0]))
        if gain <= 0 and order.fixed is None:
            return False
        self.blocks.append(best)
        for day in best.days:
            self.table.close(self.table.row_of[best.crew, day])
        return True

    def _is_idle(self, row: int) -> bool:
        day = self.table.days[row]
        return not day.orders and day.shift.minutes > 0

    def _held(self) -> list[WorkOrder]:
        """All orders once more: what others hang on stays where it is, what hangs keeps to the days it has by that."""
        done = self._done()
        on_table = {order.key: (day, order) for day in self.table.days for order in day.orders}
        held = {
            key: self._as_held(order, (day.crew, day.day), done) for key, (day, order) in on_table.items()
        }
        self.table.replace(
            range(len(self.table.days)), [[held[o.key] for o in day.orders] for day in self.table.days]
        )
        left = [
            order
            for order in self.problem.orders
            if order.key not in done and not order.whole_days and order.fixed is None
        ]
        free = [o for o in left if not self.ties.holds_others(o)]
        return [*held.values(), *(replace(order, days=self.ties.open_days(order, done)) for order in free)]

    def _as_held(self, order: WorkOrder, at: tuple[int, int], done: dict[str, Placed]) -> WorkOrder:
        if order.fixed is not None:
            return order
        parts = self._parts(order)
        if self.ties.mates(parts):
            return replace(order, fixed=at)
        hangs = len(parts) == 1 and self.ties.hangs(order)
        return replace(order, days=self.ties.open_days(order, done)) if hangs else order

    def _read(self) -> Plan:
        routes = [self._route(route_of(self.problem, day)) for day in self.table.days if day.orders]
        routes += [route for block in self.blocks for route in routes_of(self.problem, block)]
        done = self._done()
        left = tuple(order.key for order in self.problem.orders if order.key not in done)
        return Plan(tuple(sorted(routes, key=lambda route: (route.day, route.crew))), left)

    def _route(self, route: Route) -> Route:
        """The route with the parts of what was done as one."""
        stops = []
        for stop in route.stops:
            bundle = self.bundles.get(stop.key)
            stops += bundle.stops(route.crew, stop) if bundle else [stop]
        return replace(route, stops=tuple(stops))


def _windows(table: Timetable, turn: int) -> list[list[int]]:
    """Rows of each window: a few days, shifted by some each time, and split by region where they are many."""
    days = sorted({day.day for day in table.days})
    found = []
    for start in range(0, max(1, len(days) - DAYS + SHIFT), SHIFT):
        among = set(days[start : start + DAYS])
        rows = [row for row, day in enumerate(table.days) if day.day in among]
        found += _regions(table, rows, turn) if rows else []
    return found


def _regions(table: Timetable, rows: Sequence[int], turn: int) -> list[list[int]]:
    """Crew-days in groups of those whose stops lie near each other, begun at another one each turn."""
    many = ceil(len(rows) / MOST_CREW_DAYS)
    if many == 1:
        return [list(rows)]
    apart = _km_between(table, rows)
    free, found = np.ones(len(rows), dtype=bool), []
    for group in range(many):
        size = ceil(free.sum() / (many - group))
        candidates = np.flatnonzero(free)
        first = candidates[(7 * turn) % candidates.size]
        nearest = candidates[np.argsort(apart[first, candidates], kind="stable")][:size]
        free[nearest] = False
        found.append(sorted(rows[i] for i in nearest))
    return found


def _km_between(table: Timetable, rows: Sequence[int]) -> np.ndarray:
    """(R, R) mean km from the stops of each day to those of each other; the depot's for an idle one."""
    places = [[order.place for order in table.days[row].orders] or [table.days[row].depot] for row in rows]
    at = np.array([place for each in places for place in each])
    member = np.repeat(np.arange(len(rows)), [len(each) for each in places])
    share = np.zeros((len(rows), at.size))
    share[member, np.arange(at.size)] = 1.0 / np.array([len(each) for each in places])[member]
    return np.asarray(share @ table.problem.travel_km[np.ix_(at, at)] @ share.T)


def _solve(
    table: Timetable, rows: Sequence[int], asked: Sequence[WorkOrder], effort: Effort, turn: int
) -> None:
    """Take the days out, solve them with what is left over, and keep the result where it is better."""
    on_them = [order for row in rows for order in table.days[row].orders]
    waiting = [o for o in asked if o.key not in table.at and o.fixed is None and _has_a_day(table, o, rows)]
    orders = [*on_them, *_nearest(table, rows, waiting)]
    if not orders:
        return
    found = Window(table, rows, orders).solve(effort.iterations, effort.seed + turn)
    before = sum(day_value(table.problem, table.days[row]) for row in rows)
    if found is not None and found[0] > before + 0.005:
        table.replace(rows, found[1])


def _has_a_day(table: Timetable, order: WorkOrder, rows: Sequence[int]) -> bool:
    return bool(np.isin(table.open_to(order)[0], np.asarray(rows)).any())


def _nearest(table: Timetable, rows: Iterable[int], waiting: Sequence[WorkOrder]) -> list[WorkOrder]:
    """Of what has no place yet, the nearest to these days' stops."""
    if len(waiting) <= MOST_WAITING:
        return list(waiting)
    at = sorted({place for row in rows for place in table.days[row].places})
    km = table.problem.travel_km[np.ix_([order.place for order in waiting], at)].min(axis=1)
    return [waiting[i] for i in sorted(np.argsort(km, kind="stable")[:MOST_WAITING])]
