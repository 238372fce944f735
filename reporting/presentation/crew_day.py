"""A crew's day as text for its paper."""

from collections.abc import Callable, Mapping
from typing import Any
from uuid import UUID

from core.calc.format import begun, weekday
from planning.presentation.route_map import RouteMap, route_map
from reporting.calc.crew_day import CrewDayPaper
from reporting.presentation.pdf import Paper
from reporting.presentation.qr import qr_svg
from reporting.presentation.words import worded


def crew_day_words(day: CrewDayPaper, units: str, drawn: RouteMap) -> dict[str, Any]:
    """What the paper says, in the reader's units. drawn: the map of its route."""
    words: dict[str, Any] = worded(day, units)
    return words | {
        "units": units,
        "weekday": weekday(day.on),
        "begun": begun(weekday(day.on)),
        "has_map": bool(drawn.svg),
        "map_words": drawn.words,
        "missing": ", ".join(drawn.missing),
    }


def map_for_paper(day: CrewDayPaper, units: str) -> RouteMap:
    """The map of its route, in plain colours."""
    stops = [(stop.site, stop.position) for stop in day.stops]
    return route_map(day.depot_at, stops, units, key="paper", for_paper=True)


def crew_day_as_paper(
    day: CrewDayPaper, words: Mapping[str, Any], drawn: RouteMap, address_of: Callable[[UUID], str]
) -> Paper:
    """The paper. address_of: gives the full address of a surface's page, for its code."""
    drawings = {
        f"qr-{work.key}": qr_svg(address_of(work.key)) for stop in day.stops for work in stop.surfaces
    }
    if drawn.svg:
        drawings["map"] = drawn.svg
    made = day.made_on
    return Paper("crew_day.typ", dict(words) | {"made": [made.year, made.month, made.day]}, drawings)
