"""Work that hangs on other work: tests with the cleaning between them, and nothing on a surface that is curing.

Where it can be, work on one side of a cleaning, the cleaning and work on the other are one order with parts: one trip
to the site. What takes several days, or has to cure, stands apart from its tests; where it was placed then says on
which days they may be done.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from planning.calc.routing.problem import DAY_MIN, Problem, Side, Stop, Tie, WorkOrder
from planning.calc.routing.timetable import Timetable

WITH = "with "  # begins the key of several orders done as one


@dataclass(frozen=True, slots=True)
class Bundle:
    """Orders done as one, in this order."""

    order: WorkOrder
    parts: tuple[WorkOrder, ...]

    @property
    def is_settled(self) -> bool:
        """Whether every part was settled with the owner."""
        return all(part.fixed is not None for part in self.parts)

    def stops(self, crew: int, whole: Stop) -> list[Stop]:
        """The parts one after another within the time of the whole."""
        found, at = [], whole.begins
        for part in self.parts:
            found.append(Stop(part.key, at, at + part.minutes[crew]))
            at = found[-1].ends
        return found


def as_one(cleaning: WorkOrder, parts: Sequence[WorkOrder]) -> WorkOrder:
    """A cleaning and the work beside it as one order."""
    crews = [crew for crew in cleaning.minutes if all(crew in part.minutes for part in parts)]
    days = cleaning.days.intersection(*(part.days for part in parts))
    return replace(
        cleaning,
        key=WITH + cleaning.key,
        minutes={crew: sum(part.minutes[crew] for part in parts) for crew in crews},
        days=days,
        worth=sum(part.worth for part in parts),
        opens=max(part.opens for part in parts),
        closes=min(part.closes for part in parts),
        costs={crew: sum(part.costs.get(crew, 0.0) for part in parts) for crew in crews},
    )


class Placed(NamedTuple):
    """When work is done. ends: minutes from midnight on its last day by which it is done, at the latest."""

    first: int
    last: int
    ends: int


class Ties:
    """What in a problem hangs on what."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.tied: dict[str, list[tuple[WorkOrder, Tie]]] = defaultdict(list)
        self.on_ground: dict[str, list[WorkOrder]] = defaultdict(list)
        for order in problem.orders:
            if order.tie is not None:
                self.tied[order.tie.cleaning].append((order, order.tie))
            if order.ground:
                self.on_ground[order.ground].append(order)
        curing = {order.ground for order in problem.orders if order.cure_min and order.ground}
        self.curing = {ground: min(self._cures(ground), key=_rank).key for ground in curing}
        self.starts: dict[int, int] = {}
        for crew in problem.crews:
            for day, shift in crew.shifts.items():
                self.starts[day] = min(shift.start, self.starts.get(day, DAY_MIN))

    def _cures(self, ground: str) -> list[WorkOrder]:
        return [order for order in self.on_ground[ground] if order.cure_min]

    def hangs(self, order: WorkOrder) -> bool:
        """Whether the days of an order depend on where other work was placed."""
        return order.tie is not None or self.curing.get(order.ground, order.key) != order.key

    def holds_others(self, order: WorkOrder) -> bool:
        """Whether the days of other work depend on where this was placed."""
        return bool(order.cure_min and order.ground) or order.key in self.tied

    def mates(self, parts: Sequence[WorkOrder]) -> list[WorkOrder]:
        """Other work whose days depend on where these orders were placed."""
        mine = {part.key for part in parts}
        found = [other for part in parts for other, _ in self.tied.get(part.key, ())]
        found += [o for part in parts if part.cure_min for o in self.on_ground.get(part.ground, ())]
        return [other for other in found if other.key not in mine]

    def placed(self, order: WorkOrder, crew: int, days: Sequence[int]) -> Placed:
        """Done by a crew on these days; it may begin as late as the shift and the site let it."""
        last = max(days)
        shift = self.problem.crews[crew].shifts.get(last)
        ends = min(order.closes, shift.end if shift is not None else DAY_MIN)
        return Placed(min(days), last, ends)

    def settled(self, orders: Iterable[WorkOrder]) -> dict[str, Placed]:
        """Where settled orders stand."""
        found = {}
        for order in orders:
            if order.fixed is not None:
                crew, first = order.fixed
                works = sorted(day for day in self.problem.crews[crew].shifts if day >= first)
                found[order.key] = self.placed(order, crew, works[: max(1, order.whole_days)] or [first])
        return found

    def open_days(self, order: WorkOrder, done: Mapping[str, Placed]) -> frozenset[int]:
        """Of an order's days those on which it may be begun, by what is placed already."""
        days = frozenset({order.fixed[1]}) if order.fixed is not None else order.days
        if order.tie is not None:
            days = self._by_tie(order, days, done)
        for other, tie in self.tied.get(order.key, ()):
            if other.key in done:
                at = done[other.key]
                days = frozenset(day for day in days if self._is_beside(tie, order, day, at))
        for other in self.on_ground.get(order.ground, ()):
            if other is not order and other.key in done and (other.cure_min or order.cure_min):
                days = frozenset(d for d in days if self._is_clear(order, d, other, done[other.key]))
        return days

    def _by_tie(self, order: WorkOrder, days: frozenset[int], done: Mapping[str, Placed]) -> frozenset[int]:
        tie = order.tie
        if tie is None or (tie.cleaning not in done and tie.alone):
            return days
        if tie.cleaning not in done:
            return frozenset()
        cleaning, at = self.problem.by_key[tie.cleaning], done[tie.cleaning]
        if tie.side is Side.BEFORE:
            near = (day for day in days if day >= at.first - tie.within)
            return frozenset(day for day in near if self._last_day(order, day) < at.first)
        last = at.last + cleaning.cure_min // DAY_MIN + tie.within
        return frozenset(d for d in days if at.last < d <= last and self._is_open(d, at, cleaning.cure_min))

    def _is_open(self, day: int, at: Placed, cure_min: int) -> bool:
        """Whether a surface is open again when the first crew sets out on a day."""
        return DAY_MIN * day + self.starts.get(day, 0) >= DAY_MIN * at.last + at.ends + cure_min

    def _is_beside(self, tie: Tie, cleaning: WorkOrder, day: int, at: Placed) -> bool:
        """Whether work that was placed first stands right by its cleaning, were that begun on a day."""
        if tie.side is Side.BEFORE:
            return at.first < day <= at.first + tie.within
        last = self._last_day(cleaning, day)
        open_on = last + cleaning.cure_min // DAY_MIN
        is_open = self._is_open(at.first, Placed(day, last, cleaning.closes), cleaning.cure_min)
        return last < at.first <= open_on + tie.within and is_open

    def _is_clear(self, order: WorkOrder, day: int, other: WorkOrder, at: Placed) -> bool:
        """Whether an order begun on a day and another as placed keep off each other's surface while it cures."""
        if day > at.last:
            return self._is_open(day, at, other.cure_min)
        last = self._last_day(order, day)
        return last < at.first and self._is_open(at.first, Placed(day, last, order.closes), order.cure_min)

    def _last_day(self, order: WorkOrder, day: int) -> int:
        """The last day of an order begun on a day, by whichever crew is slowest to come round to it."""
        if order.whole_days <= 1:
            return day
        ends = []
        for crew in order.minutes:
            works = sorted(on for on in self.problem.crews[crew].shifts if on >= day)
            if len(works) >= order.whole_days:
                ends.append(works[order.whole_days - 1])
        return max(ends, default=DAY_MIN)

    def bundles(self) -> list[Bundle]:
        """Cleanings with the work beside them, where that is one trip to the site."""
        empty = Timetable(self.problem)
        found = [self._bundle(self.problem.by_key[key], tied) for key, tied in self.tied.items()]
        return [each for each in found if each is not None and empty.best_gap(each.order) is not None]

    def _bundle(self, cleaning: WorkOrder, tied: Iterable[tuple[WorkOrder, Tie]]) -> Bundle | None:
        if cleaning.whole_days or self.curing.get(cleaning.ground, cleaning.key) != cleaning.key:
            return None
        sides: dict[Side, list[WorkOrder]] = {side: [] for side in Side}
        for order, tie in tied:
            if not order.whole_days and _can_share(order, cleaning):
                sides[tie.side].append(order)
        after = [] if cleaning.cure_min else sides[Side.AFTER]
        parts = (*sides[Side.BEFORE], cleaning, *after)
        return Bundle(as_one(cleaning, parts), parts) if len(parts) > 1 else None


def _rank(order: WorkOrder) -> tuple[bool, float, str]:
    return order.fixed is None, -order.worth, order.key


def _can_share(order: WorkOrder, cleaning: WorkOrder) -> bool:
    """Whether work can be part of one trip with its cleaning."""
    if order.place != cleaning.place:
        return False
    if cleaning.fixed is None or order.fixed is not None:
        return order.fixed == cleaning.fixed
    return cleaning.fixed[0] in order.minutes and cleaning.fixed[1] in order.days
