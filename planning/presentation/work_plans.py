"""A plan of work as a board: crews by days, in words and hours."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from core.calc.format import day as day_words
from core.calc.format import money
from core.models.pages import page_of
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.reasons import Why
from planning.models import Crew, WorkPlan
from qa.models import Surface

FULL = 0.9  # share of a shift from which a day reads as full


@dataclass(frozen=True, slots=True)
class Moving:
    """Where a piece of work can be put. crews: id, name and whether it is there now; on: the day it is on, or the first
    of the plan.
    """

    key: str
    crews: tuple[tuple[UUID, str, bool], ...]
    on: date


@dataclass(frozen=True, slots=True)
class StopLine:
    """One piece of work on a day. moving: None for what stays where it is."""

    key: str
    times: str
    title: str
    where: str
    href: str
    is_settled: bool
    moving: Moving | None
    needs_approval: bool = False


@dataclass(frozen=True, slots=True)
class DayCell:
    """One crew's day. share: of the shift that is used, 0 to 1."""

    key: str
    crew: str
    crew_id: UUID
    on: date
    day: str
    hours: str
    share: float
    driving: str
    stops: tuple[StopLine, ...]
    is_new: bool
    accepted: bool

    @property
    def is_full(self) -> bool:
        """Whether hardly any time is left."""
        return self.share >= FULL


@dataclass(frozen=True, slots=True)
class LeftLine:
    """A piece of work that found no place, and why."""

    key: str
    title: str
    where: str
    href: str
    why: str
    moving: Moving | None


@dataclass(frozen=True, slots=True)
class Week:
    """One week of the board: a row a crew, a column a day that has work."""

    title: str
    days: tuple[date, ...]
    rows: tuple[tuple[str, tuple[DayCell | None, ...]], ...]


@dataclass(frozen=True, slots=True)
class Board:
    """A plan as it is shown. figures: name and value."""

    figures: tuple[tuple[str, str], ...]
    weeks: tuple[Week, ...]
    left: tuple[LeftLine, ...]
    without_place: tuple[str, ...]
    new_days: int


def board_of(
    plan: WorkPlan, result: WorkPlanResult, crews: Sequence[Crew], waiting: Collection[str] = ()
) -> Board:
    """The board of a finished plan. crews: of the firm, those among them that are inactive for their names alone."""
    names = {crew.pk: crew.name for crew in crews}
    active = [(crew.pk, crew.name) for crew in crews if not crew.retired]
    cells = {(day.crew, day.on): _cell(day, names, active, waiting) for day in result.days}
    mondays = sorted({day.on - timedelta(days=day.on.weekday()) for day in result.days})
    currency = plan.organisation.currency
    return Board(
        _figures(result, currency),
        tuple(_week(monday, cells, names) for monday in mondays),
        tuple(_left(each, currency, active, plan.first_on) for each in result.left),
        result.without_place,
        sum(cell.is_new for cell in cells.values()),
    )


def hours(minutes: int) -> str:
    """Minutes as hours and minutes."""
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest:02} min" if whole else f"{rest} min"


def clock(minutes: int) -> str:
    """Minutes from midnight as a time of day."""
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _figures(result: WorkPlanResult, currency: str) -> tuple[tuple[str, str], ...]:
    pieces = sum(len(day.stops) for day in result.days)
    return (
        ("Pieces of work", str(pieces)),
        ("Left out", str(len(result.left))),
        ("Work", hours(result.work_min)),
        ("Driving", f"{hours(result.travel_min)}, {money(round(result.travel_cost, 2), currency)}"),
        (
            "Driving, each on a trip of its own",
            f"{hours(result.alone_min)}, {money(result.alone_cost, currency)}",
        ),
    )


def _moving(key: str, active: Sequence[tuple[UUID, str]], on: date, now: UUID | None = None) -> Moving:
    return Moving(key, tuple((pk, name, pk == now) for pk, name in active), on)


def _cell(
    day: PlannedDay, names: dict[UUID, str], active: Sequence[tuple[UUID, str]], waiting: Collection[str]
) -> DayCell:
    return DayCell(
        day.key,
        names.get(day.crew, "A crew that is gone"),
        day.crew,
        day.on,
        day_words(day.on),
        f"{hours(day.busy_min)} of {hours(day.shift_min)}",
        min(1.0, day.busy_min / day.shift_min) if day.shift_min else 1.0,
        f"{day.travel_km:g} km, {hours(day.travel_min)} of driving",
        tuple(_stop(stop, day, active, waiting) for stop in day.stops),
        day.is_new,
        day.accepted,
    )


def _stop(
    stop: PlannedStop, day: PlannedDay, active: Sequence[tuple[UUID, str]], waiting: Collection[str]
) -> StopLine:
    stays = stop.is_settled or day.accepted
    return StopLine(
        stop.key,
        f"{clock(stop.begins)} to {clock(stop.ends)}",
        stop.title,
        stop.where,
        page_of(Surface(pk=stop.surface)),
        stop.is_settled,
        None if stays else _moving(stop.key, active, day.on, day.crew),
        stop.key in waiting,
    )


def _week(monday: date, cells: dict[tuple[UUID, date], DayCell], names: dict[UUID, str]) -> Week:
    days = sorted({on for _, on in cells if monday <= on < monday + timedelta(days=7)})
    crews = sorted({crew for crew, on in cells if on in days}, key=lambda crew: names.get(crew, ""))
    rows = tuple(
        (names.get(crew, "A crew that is gone"), tuple(cells.get((crew, on)) for on in days))
        for crew in crews
    )
    return Week(f"Week from {day_words(monday)}", tuple(days), rows)


def _left(left: LeftOut, currency: str, active: Sequence[tuple[UUID, str]], first_on: date) -> LeftLine:
    can_move = left.why in (Why.DRIVE, Why.TAKEN)
    return LeftLine(
        left.key,
        left.title,
        left.where,
        page_of(Surface(pk=left.surface)),
        _why(left, currency),
        _moving(left.key, active, first_on) if can_move else None,
    )


def _why(left: LeftOut, currency: str) -> str:
    length = hours(left.minutes)
    words = {
        Why.NO_CREW: "No crew is equipped for it. Say so on a crew's page, or take a subcontracted one.",
        Why.CREW_AWAY: "No crew that can do it works on a day that is open to it: season, notice, closed days.",
        Why.DAYS_IN_A_ROW: f"It takes {length} on each of several days in a row, which no crew that can do it has.",
        Why.TOO_LONG: f"Its {length}, with the drive, fit no crew's day and the hours of the site.",
        Why.DRIVE: "The drive would cost more than waiting does.",
        Why.TAKEN: "The days open to it are taken by work that is worth more.",
        Why.DAY_OFF: "It is on a visit for a day on which the crew does not work. Change the visit or the crew's days.",
        Why.OVERFULL: "It is on a visit, and the day is too full for it. Move it to another visit.",
        Why.UNDECIDED: "It is a restoration above the firm's sum: a person decides on it first.",
    }
    said = words[left.why]
    if left.why in (Why.DAY_OFF, Why.OVERFULL):
        return said
    if left.why is Why.DRIVE and left.drive_cost is not None:
        return f"{said} It would add {money(left.drive_cost, currency)}; waiting costs {money(left.worth, currency)}."
    return f"{said} Waiting with it costs {money(left.worth, currency)}."
