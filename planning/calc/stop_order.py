"""The order of a crew's stops where no plan gave times: the nearest next, from the depot on."""

from collections.abc import Sequence

from planning.calc.routing.travel import road_km

Position = tuple[float, float]


def nearest_next(start: Position | None, places: Sequence[Position | None]) -> list[int]:
    """Which of the places comes when; those without a position come last, as they were given.

    Positions are latitude and longitude in degrees. A greedy order, not the shortest one: a plan of work finds that.
    """
    known = [(i, place) for i, place in enumerate(places) if place is not None]
    points = [start or (known[0][1] if known else (0.0, 0.0)), *(place for _, place in known)]
    km = road_km([lat for lat, _ in points], [lon for _, lon in points])
    left, at, found = list(range(1, len(points))), 0, []
    while left:
        at = min(left, key=lambda row: (km[at, row], row))
        left.remove(at)
        found.append(known[at - 1][0])
    return found + [i for i, place in enumerate(places) if place is None]
