"""A crew's day, and a day of a plan of work, in words and as a map."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from core.calc.format import day as day_words
from core.calc.format import weekday
from planning.calc.plan_payload import PlannedDay, WorkPlanResult
from planning.models import Crew
from planning.presentation.route_map import RouteMap, route_map
from planning.presentation.tasks import TaskLine, task_line
from planning.presentation.work_plans import span_words
from planning.selectors.crew_days import CrewDay, SiteStop, places_of_day, position_of


@dataclass(frozen=True, slots=True)
class StopLine:
    """A stop with its tasks and what there is to do about each. times: empty where none are known."""

    number: int
    name: str
    address: str
    access: str
    times: str
    tasks: tuple[TaskLine, ...]


def stop_lines(day: CrewDay, back: str = "") -> tuple[StopLine, ...]:
    """The stops in order. back: the address to come back to from what gets a task done, for the visit's own page."""
    return tuple(
        StopLine(
            stop.number,
            stop.site.name,
            stop.site.address,
            stop.site.access_note,
            times_of(stop),
            tuple(task_line(task, back=back) for task in stop.tasks),
        )
        for stop in day.stops
    )


def times_of(stop: SiteStop) -> str:
    """From when to when, where a plan gave times."""
    if stop.begins_min is None or stop.ends_min is None:
        return ""
    return span_words(stop.begins_min, stop.ends_min)


def map_of_day(day: CrewDay, units: str, *, for_paper: bool = False) -> RouteMap:
    """The route of a crew's day."""
    stops = [(stop.site.name, stop.position) for stop in day.stops]
    return route_map(day.depot, stops, units, key=day.crew.pk.hex[:8], for_paper=for_paper)


def day_note(day: CrewDay) -> str:
    """Why the crew does not go out on that day; empty where it does."""
    if day.absence is not None:
        why = day.absence.reason
        away = _("{crew} is away on this day: {reason}.") if why else _("{crew} is away on this day.")
        return away.format(crew=day.crew, reason=why)
    if day.is_working_day:
        return ""
    return _("{crew} does not work on a {weekday}.").format(crew=day.crew, weekday=weekday(day.on))


def order_note(day: CrewDay) -> str:
    """Where the order comes from, where there is more than one stop."""
    if len(day.stops) < 2:
        return ""
    if day.is_timed:
        return _("Order and times are those of the accepted plan of work.")
    return _("Stops without a time stand in the order of the nearest next. A plan of work finds times.")


@dataclass(frozen=True, slots=True)
class BoardMap:
    """The map of one day of a plan. choices: key, words and whether it is the one shown; stops: in order."""

    choices: tuple[tuple[str, str, bool], ...]
    title: str
    stops: tuple[str, ...]
    map: RouteMap


def board_map(result: WorkPlanResult, crews: Sequence[Crew], asked: str, units: str) -> BoardMap | None:
    """The day that is asked for by its key, else the first; None where the plan has no day."""
    if not result.days:
        return None
    days = {day.key: day for day in result.days}
    shown = days.get(asked, result.days[0])
    known = {crew.pk: crew for crew in crews}
    places = places_of_day(shown)
    crew = known.get(shown.crew)
    drawn = route_map(position_of(crew) if crew else None, places, units, key="plan")
    choices = tuple((day.key, _words(day, known), day is shown) for day in result.days)
    return BoardMap(choices, _words(shown, known), tuple(name for name, _ in places), drawn)


def _words(day: PlannedDay, crews: Mapping[UUID, Crew]) -> str:
    return f"{day_words(day.on)}, {crews.get(day.crew, _('a crew that is gone'))}"
