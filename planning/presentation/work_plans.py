"""A plan of work as a board: crews by days, a week and some crews at a time, in words and hours."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse
from django.utils.html import format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from core.calc.format import day as day_words
from core.calc.format import money
from core.calc.marks import marked
from core.models.pages import page_of
from planning.calc.plan_payload import LeftOut, PlannedDay, PlannedStop, WorkPlanResult
from planning.calc.routing.first_free import Booked
from planning.calc.routing.reasons import Why
from planning.models import Crew, WorkPlan
from planning.presentation.planned_work import title_of
from planning.presentation.why_left import hours, why_left
from qa.models import Surface

FULL = 0.9  # share of a shift from which a day reads as full
CREWS_A_PAGE = 8
LEFT_A_PAGE = 40
GONE = gettext_noop("A crew that is gone")


@dataclass(frozen=True, slots=True)
class Asked:
    """Which part of a board is shown. week: a day of it, None for the first; crews, left: pages, from 1."""

    week: date | None = None
    crews: int = 1
    left: int = 1


@dataclass(frozen=True, slots=True)
class Moving:
    """Where a piece of work can be put. to: where the form is sent; crews: options of a list, written once for all work
    of a crew; on: its day, or the first of the plan.
    """

    to: str
    key: str
    crews: SafeString
    on: date


@dataclass(frozen=True, slots=True)
class StopLine:
    """One piece of work on a day. marks: what else is to be known of it; moving: None for what stays where it is."""

    key: str
    times: str
    title: str
    where: str
    href: str
    is_settled: bool
    marks: tuple[str, ...]
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
class Part:
    """A link to another part of the board. query: of its address."""

    label: str
    query: str
    is_shown: bool


@dataclass(frozen=True, slots=True)
class Week:
    """One week of the board: a row a crew, a column a day that has work."""

    title: str
    rows: tuple[tuple[str, tuple[DayCell, ...]], ...]


@dataclass(frozen=True, slots=True)
class Board:
    """A part of a plan as it is shown. figures: name and value, of all of it; notes: sentences about its grounds.

    weeks, groups, pages: links to the other parts; left_count: of all that found no place; here: its own address
    """

    figures: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    week: Week | None
    weeks: tuple[Part, ...]
    groups: tuple[Part, ...]
    left: tuple[LeftLine, ...]
    left_count: int
    pages: tuple[Part, ...]
    without_place: tuple[str, ...]
    new_days: int
    here: str


class _Crews:
    """Names of crews, and the list of them to choose from."""

    def __init__(self, crews: Sequence[Crew], plan: WorkPlan, here: str) -> None:
        self.to = f"{reverse('planning:proposal-move', args=[plan.pk])}?{urlencode({'next': here})}"
        self.names = {crew.pk: crew.name for crew in crews}
        self.active = [(crew.pk, crew.name) for crew in crews if not crew.retired]
        self._options: dict[UUID | None, SafeString] = {}

    def name(self, crew: UUID) -> str:
        """What a crew is called."""
        return self.names.get(crew) or _(GONE)

    def moving(self, key: str, on: date, now: UUID | None = None) -> Moving:
        """Where a piece of work can be put, from the crew that has it now."""
        return Moving(self.to, key, self.options(now), on)

    def options(self, now: UUID | None = None) -> SafeString:
        """The active crews as options, the one that has the work now chosen."""
        if now not in self._options:
            rows = ((pk, mark_safe(" selected") if pk == now else "", name) for pk, name in self.active)
            self._options[now] = format_html_join("", '<option value="{}"{}>{}</option>', rows)
        return self._options[now]


def board_of(
    plan: WorkPlan,
    result: WorkPlanResult,
    crews: Sequence[Crew],
    asked: Asked = Asked(),
    waiting: Collection[str] = (),
) -> Board:
    """A part of a finished plan. crews: of the firm, those among them that are inactive for their names alone.

    waiting: keys of the work that needs the owner's approval first.
    """
    names = {crew.pk: crew.name for crew in crews}
    currency = plan.organisation.currency
    mondays = sorted({_monday(day.on) for day in result.days})
    monday = _shown_week(mondays, asked.week)
    in_week = [day for day in result.days if _monday(day.on) == monday]
    groups = _pages(sorted({day.crew for day in in_week}, key=lambda pk: names.get(pk, "")), CREWS_A_PAGE)
    group = _within(asked.crews, groups)
    lefts = _pages(result.left, LEFT_A_PAGE)
    page = _within(asked.left, lefts)
    here = _address(plan, monday, group, page)
    who = _Crews(crews, plan, here)
    cells = [_cell(day, who, waiting) for day in in_week if groups and day.crew in groups[group]]
    return Board(
        _figures(result, currency),
        _notes(result),
        _week(monday, cells) if monday else None,
        tuple(_week_part(each, each == monday) for each in mondays),
        tuple(_group_part(monday, i, each, who, i == group) for i, each in enumerate(groups)),
        tuple(_left(each, currency, who, plan.first_on) for each in (lefts[page] if lefts else ())),
        len(result.left),
        tuple(_left_part(monday, i, each, i == page) for i, each in enumerate(lefts)),
        result.without_place,
        sum(cell.is_new for cell in cells),
        here,
    )


def _address(plan: WorkPlan, monday: date | None, group: int, page: int) -> str:
    part = f"?week={monday:%Y-%m-%d}&crews={group + 1}&left={page + 1}" if monday else ""
    return f"{plan.get_absolute_url()}{part}"


def clock(minutes: int) -> str:
    """Minutes from midnight as a time of day."""
    return f"{minutes // 60:02}:{minutes % 60:02}"


def span_words(begins: int, ends: int) -> str:
    """From one time of day to another. Both in minutes from midnight."""
    return _("{begins} to {ends}").format(begins=clock(begins), ends=clock(ends))


def _monday(on: date) -> date:
    return on - timedelta(days=on.weekday())


def _shown_week(mondays: Sequence[date], week: date | None) -> date | None:
    wanted = _monday(week) if week else None
    return wanted if wanted in mondays else next(iter(mondays), None)


def _pages(rows: Sequence, size: int) -> list[Sequence]:  # type: ignore[type-arg]
    return [rows[at : at + size] for at in range(0, len(rows), size)]


def _within(page: int, pages: Sequence[object]) -> int:
    return min(max(1, page), max(1, len(pages))) - 1


def _week_part(monday: date, is_shown: bool) -> Part:
    return Part(_("From {day}").format(day=day_words(monday)), f"week={monday:%Y-%m-%d}", is_shown)


def _group_part(monday: date | None, at: int, crews: Sequence[UUID], who: _Crews, is_shown: bool) -> Part:
    first, last = who.name(crews[0]), who.name(crews[-1])
    label = first if len(crews) == 1 else _("{first} to {last}").format(first=first, last=last)
    return Part(label, f"week={monday:%Y-%m-%d}&crews={at + 1}", is_shown)


def _left_part(monday: date | None, at: int, rows: Sequence[LeftOut], is_shown: bool) -> Part:
    week = f"week={monday:%Y-%m-%d}&" if monday else ""
    begins = at * LEFT_A_PAGE + 1
    label = _("{begins} to {ends}").format(begins=begins, ends=begins + len(rows) - 1)
    return Part(label, f"{week}left={at + 1}#left-t", is_shown)


def _figures(result: WorkPlanResult, currency: str) -> tuple[tuple[str, str], ...]:
    pieces = sum(len(day.stops) for day in result.days)
    return (
        *_of_plan(result, pieces, currency),
        *(_of_diary(result.booked, currency) if result.booked else ()),
    )


def _of_diary(diary: Booked, currency: str) -> tuple[tuple[str, str], ...]:
    words = [hours(diary.travel_min), money(diary.travel_cost, currency), _days_out(diary.crew_days)]
    if diary.unbooked:
        left = ngettext(
            "{count} piece without a free day", "{count} pieces without a free day", diary.unbooked
        )
        words.append(left.format(count=diary.unbooked))
    return ((_("Driving, each on the first free day as it comes"), ", ".join(words)),)


def _days_out(number: int) -> str:
    # Translators: days on which a crew goes out.
    return ngettext("{count} day out", "{count} days out", number).format(count=number)


def _of_plan(result: WorkPlanResult, pieces: int, currency: str) -> tuple[tuple[str, str], ...]:
    driving = f"{hours(result.travel_min)}, {money(round(result.travel_cost, 2), currency)}"
    return (
        (_("Pieces of work"), str(pieces)),
        (_("Left out"), str(len(result.left))),
        (_("Work"), f"{hours(result.work_min)}, {money(round(result.work_cost, 2), currency)}"),
        (_("Driving"), f"{driving}, {_days_out(result.days_out)}"),
        (
            _("Driving, each on a trip of its own"),
            f"{hours(result.alone_min)}, {money(result.alone_cost, currency)}",
        ),
    )


def _notes(result: WorkPlanResult) -> tuple[str, ...]:
    drives, measured = result.drives
    if not drives:
        return ()
    if not measured:
        return (
            _(
                "Drives are told by great circles and a factor for roads; the firm has sent no file of its own."
            ),
        )
    said = _(
        "{measured} of {drives} drives are from the firm's own file, the others by great circles and a factor for "
        "roads."
    )
    return (said.format(measured=measured, drives=drives),)


def _cell(day: PlannedDay, who: _Crews, waiting: Collection[str]) -> DayCell:
    return DayCell(
        day.key,
        who.name(day.crew),
        day.crew,
        day.on,
        day_words(day.on),
        _("{part} of {whole}").format(part=hours(day.busy_min), whole=hours(day.shift_min)),
        min(1.0, day.busy_min / day.shift_min) if day.shift_min else 1.0,
        _("{km} km, {hours} of driving").format(km=marked(f"{day.travel_km:g}"), hours=hours(day.travel_min)),
        tuple(_stop(stop, day, who, waiting) for stop in day.stops),
        day.is_new,
        day.accepted,
    )


def _stop(stop: PlannedStop, day: PlannedDay, who: _Crews, waiting: Collection[str]) -> StopLine:
    stays = stop.is_settled or day.accepted
    return StopLine(
        stop.key,
        span_words(stop.begins, stop.ends),
        title_of(stop),
        stop.where,
        page_of(Surface(pk=stop.surface)),
        stop.is_settled,
        _marks(stop, day.on),
        None if stays else who.moving(stop.key, day.on, day.crew),
        stop.key in waiting,
    )


def _marks(stop: PlannedStop, on: date) -> tuple[str, ...]:
    found = []
    if stop.parts > 1:
        found.append(_("one of {count} days").format(count=stop.parts))
    ends = datetime.combine(on, time()) + timedelta(minutes=stop.ends)
    closed = (
        (stop.foot_min, _("open to people again {moment}")),
        (stop.vehicles_min, _("open to vehicles again {moment}")),
    )
    found += [said.format(moment=_moment(ends, minutes)) for minutes, said in closed if minutes]
    return tuple(found)


def _moment(ends: datetime, minutes: int) -> str:
    at = ends + timedelta(minutes=minutes)
    return f"{day_words(at.date())}, {at:%H:%M}"


def _week(monday: date, cells: Sequence[DayCell]) -> Week:
    crews = list(dict.fromkeys(sorted(((cell.crew, cell.crew_id) for cell in cells), key=str)))
    rows = tuple((name, tuple(cell for cell in cells if cell.crew_id == crew)) for name, crew in crews)
    return Week(_("Week from {day}").format(day=day_words(monday)), rows)


def _left(left: LeftOut, currency: str, who: _Crews, first_on: date) -> LeftLine:
    can_move = left.why in (Why.DRIVE, Why.TAKEN) and not left.whole_days
    return LeftLine(
        left.key,
        title_of(left),
        left.where,
        page_of(Surface(pk=left.surface)),
        why_left(left, currency),
        who.moving(left.key, first_on) if can_move else None,
    )
