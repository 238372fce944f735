"""A calendar of visits in words: days with what is on them, and whose days off they are."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils.translation import gettext as _

from core.calc.format import begun, counted, month, said_by, weekday
from core.calc.format import day as day_words
from planning.calc.calendar_days import Span, View
from planning.calc.vocabulary import VisitStatus
from planning.models import Crew, Visit, VisitTask
from planning.presentation.work_plans import span_words
from planning.selectors.calendar import CalendarRead, Entry

MOST_IN_A_CELL = 3
A_WEEK = tuple(date(2024, 1, number) for number in range(1, 8))  # whichever, from a Monday


@dataclass(frozen=True, slots=True)
class TaskOnDay:
    """One thing to do. times: where they are known."""

    title: str
    surface: str
    href: str
    times: str
    is_done: bool


@dataclass(frozen=True, slots=True)
class EntryLine:
    """A visit on a day. title: who comes, or for an owner where; href: empty where the reader has no page of it."""

    title: str
    where: str
    href: str
    status: VisitStatus
    times: str
    tasks: tuple[TaskOnDay, ...]

    @property
    def is_cancelled(self) -> bool:
        """Whether it was cancelled."""
        return self.status is VisitStatus.CANCELLED

    @property
    def is_done(self) -> bool:
        """Whether all of it is done."""
        return self.status is VisitStatus.DONE

    @property
    def says(self) -> str:
        """How it stands, where that is not plainly ahead."""
        return "" if self.status is VisitStatus.SCHEDULED else self.status.label.lower()


@dataclass(frozen=True, slots=True)
class DayLine:
    """A day. off: who does not work, and why; nobody_works: whether that is every crew that is shown."""

    on: date
    title: str
    href: str
    is_today: bool
    is_beside: bool
    entries: tuple[EntryLine, ...]
    off: tuple[str, ...]
    nobody_works: bool

    @property
    def few(self) -> tuple[EntryLine, ...]:
        """As many as a cell of a month has room for."""
        return self.entries[:MOST_IN_A_CELL]

    @property
    def more(self) -> int:
        """How many it has no room for."""
        return max(0, len(self.entries) - MOST_IN_A_CELL)

    @property
    def count(self) -> str:
        """How many visits there are."""
        return counted(len(self.entries), "visit") if self.entries else ""

    @property
    def count_href(self) -> str:
        """Where the number of visits leads: to the list on the page, or to the day where that has it not."""
        return self.href if self.is_beside else f"#{self.anchor}"

    @property
    def is_listed(self) -> bool:
        """Whether a list of days names it."""
        return bool(self.entries or self.off) and not self.is_beside

    @property
    def anchor(self) -> str:
        """Its name within the page."""
        return f"day-{self.on:%Y-%m-%d}"


@dataclass(frozen=True, slots=True)
class CalendarPage:
    """A calendar. views: name, address and whether it is shown;"""

    title: str
    span: Span
    views: tuple[tuple[str, str, bool], ...]
    before: str
    after: str
    today: str
    days: tuple[DayLine, ...]

    @property
    def weekdays(self) -> tuple[tuple[str, str], ...]:
        """Short and long names of the days of the week, from Monday."""
        return tuple((said_by(day, "EEE"), said_by(day, "EEEE")) for day in A_WEEK)

    @property
    def weeks(self) -> tuple[tuple[DayLine, ...], ...]:
        """The days by sevens."""
        return tuple(self.days[n : n + 7] for n in range(0, len(self.days), 7))

    @property
    def is_month(self) -> bool:
        """Whether it is a month."""
        return self.span.view is View.MONTH

    @property
    def is_week(self) -> bool:
        """Whether it is a week."""
        return self.span.view is View.WEEK

    @property
    def listed(self) -> tuple[DayLine, ...]:
        """The days that a list names: all of a week or a day, else those with something on them."""
        if self.span.view in (View.WEEK, View.DAY):
            return self.days
        return tuple(day for day in self.days if day.is_listed)


def calendar_page(read: CalendarRead, span: Span, today: date, address: Callable[..., str]) -> CalendarPage:
    """The page. address: gives the query of this calendar with something else."""
    return CalendarPage(
        title=_title(span),
        span=span,
        views=tuple((view.label, address(view=view.value), view is span.view) for view in View),
        before=address(on=span.before.isoformat()),
        after=address(on=span.after.isoformat()),
        today=address(on=today.isoformat()),
        days=tuple(_day(read, span, day, today, address) for day in span.days),
    )


def _title(span: Span) -> str:
    if span.view is View.MONTH:
        return begun(month(span.on))
    if span.view is View.DAY:
        return begun(f"{weekday(span.on)} {day_words(span.on)}")
    return _("{first} to {last}").format(first=day_words(span.first), last=day_words(span.last))


def _day(read: CalendarRead, span: Span, day: date, today: date, address: Callable[..., str]) -> DayLine:
    away, free = _off(read, day)
    nobody = bool(read.crews) and len(away) + len(free) == len(read.crews)
    return DayLine(
        on=day,
        title=begun(f"{weekday(day)} {day_words(day)}"),
        href=address(view=View.DAY.value, on=day.isoformat()),
        is_today=day == today,
        is_beside=not span.holds(day),
        entries=tuple(_entry(entry) for entry in read.by_day.get(day, [])),
        off=(*away.values(), *_told(read, day, free, all_of_them=not nobody or span.view is View.DAY)),
        nobody_works=nobody,
    )


def _off(read: CalendarRead, day: date) -> tuple[dict[UUID, str], dict[UUID, str]]:
    """Crews that are away, with the reason, and those that do not work on such a day of the week."""
    away, free = {}, {}
    for crew in read.crews:
        reason = _absent(read, crew, day)
        if reason is not None:
            said = _("{crew} away: {reason}") if reason else _("{crew} away")
            away[crew.pk] = said.format(crew=crew, reason=reason)
        elif day.isoweekday() not in crew.weekdays:
            said = _("{crew} does not work on a {weekday}")
            free[crew.pk] = said.format(crew=crew, weekday=weekday(day))
    return away, free


def _told(read: CalendarRead, day: date, free: dict[UUID, str], *, all_of_them: bool) -> list[str]:
    """That every Sunday is free needs no word, unless a visit stands on one."""
    going = {entry.crew.pk for entry in read.by_day.get(day, []) if entry.crew}
    return [words for crew, words in free.items() if all_of_them or crew in going]


def _absent(read: CalendarRead, crew: Crew, day: date) -> str | None:
    rows = read.absences.get(crew.pk, [])
    return next((row.reason for row in rows if row.first_on <= day <= row.last_on), None)


def _entry(entry: Entry) -> EntryLine:
    sites = ", ".join(site.name for site in entry.sites)
    mine = entry.crew is None
    return EntryLine(
        title=sites if mine else str(entry.crew),
        where="" if mine else sites or _("nothing on it yet"),
        href="" if mine else Visit(pk=entry.visit).get_absolute_url(),
        status=entry.status,
        times=_times(entry.tasks),
        tasks=tuple(
            TaskOnDay(
                task.title, str(task.surface), task.surface.get_absolute_url(), _times([task]), task.is_done
            )
            for task in entry.tasks
        ),
    )


def _times(tasks: Sequence[VisitTask]) -> str:
    """From the first to the last that is known."""
    begins = [task.begins_min for task in tasks if task.begins_min is not None]
    ends = [task.ends_min for task in tasks if task.ends_min is not None]
    return span_words(min(begins), max(ends)) if begins and ends else ""
