"""How many spots to test, how far apart, and a reproducible choice of where.

Sources: ASTM C1701/C1701M and C1781/C1781M for number and spacing (from memory, verify against
the current edition). Zones: Brown & Borst 2014, J. Environ. Eng. 140(3): clogging starts at the
edge next to impervious lanes and moves inward, so spots strewn over the whole area miss it. The
shares a zone gets are our own choice, not a standard's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil, hypot, inf, isfinite
from random import Random
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.units import MM_PER_FT, MM_PER_M, Quantity, UnitSystem, to_display
from core.errors import ImpossibleRecordError
from qa.calc.deviations import Deviation, require_positive

FEWEST_LOCATIONS = 3
MINIMUM_SPACING = {UnitSystem.SI: 1.0, UnitSystem.US: 3.0}  # m, ft
_FIRST_AREA = {UnitSystem.SI: 2_500.0, UnitSystem.US: 25_000.0}  # m², ft²
_FURTHER_AREA = {UnitSystem.SI: 1_000.0, UnitSystem.US: 10_000.0}

EDGE_STRIP_M = 1.5
LOW_SPOT_RADIUS_M = 2.0
RING_CLEARANCE_M = 0.3
_TRIES_PER_SPOT = 400
_CANDIDATES = 12  # few, so that another draw number gives other spots
_ROUNDING_M = 0.015  # rounding to a centimetre may take up to 14 mm off a gap

Point = tuple[float, float]


class Zone(TextChoice):
    """Where on the surface a spot lies."""

    EDGE = "edge", "Edge strip, next to run-on"
    INTERIOR = "interior", "Interior"
    LOW = "low", "Low spot"


@dataclass(frozen=True, slots=True)
class Spot:
    """A proposed test spot; x and y in metres in the outline's own axes."""

    x_m: float
    y_m: float
    zone: Zone


@dataclass(frozen=True, slots=True)
class SurfacePlan(Payload):
    """The outline of a surface and where its water comes from and goes to, as it is drawn and kept.

    outline: corners in order, metres. run_on_edges: numbers of the outline's sides that receive
    run-on, side i going from corner i to the next. low_point: where water would gather.
    """

    SCHEMA: ClassVar[int] = 1

    outline: tuple[Point, ...]
    run_on_edges: tuple[int, ...] = ()
    low_point: Point | None = None


def locations_needed(area: float, system: UnitSystem) -> int:
    """Number of spots to test in one round; area in m² or ft² by the unit system of the tests.

    3 up to 2500 m² (25 000 ft²), one more for each further 1000 m² (10 000 ft²) or fraction. The two
    systems are separate rules: 25 500 ft² needs 4, though its 2369 m² would need 3.

    Source: ASTM C1701/C1701M, C1781/C1781M (from memory, verify against the current edition).
    """
    require_positive(
        "Area", area, "m²" if system is UnitSystem.SI else "ft²", "Enter the area of the surface."
    )
    beyond = round(area - _FIRST_AREA[system], 6)  # keeps the noise of a unit conversion from adding a spot
    return FEWEST_LOCATIONS + max(0, ceil(beyond / _FURTHER_AREA[system]))


def locations_needed_m2(area_m2: float, system: UnitSystem) -> int:
    """The same from a stored area in m², by the rule of the unit system the tests are taken in."""
    return locations_needed(to_display(area_m2, Quantity.AREA, system).value, system)


def minimum_spacing_m(system: UnitSystem) -> float:
    """Clear distance in metres between spots tested on one day (1 m or 3 ft)."""
    spacing = MINIMUM_SPACING[system]
    return spacing if system is UnitSystem.SI else spacing * MM_PER_FT / MM_PER_M


def spacing_deviations(spots: Mapping[str, Point], system: UnitSystem) -> tuple[Deviation, ...]:
    """Pairs of spots tested on one day that lie too close together; positions in metres by name."""
    least_m = minimum_spacing_m(system)
    found = []
    for (first, p), (second, q) in combinations(spots.items(), 2):
        distance_m = hypot(p[0] - q[0], p[1] - q[1])
        if distance_m < least_m - 1e-9:
            found.append(_too_close(first, second, distance_m, least_m))
    return tuple(found)


def _too_close(first: str, second: str, distance_m: float, least_m: float) -> Deviation:
    allowed = f"at least {least_m:.2f} m"
    message = (
        f"Spots {first} and {second} are {distance_m:.2f} m apart; {allowed} is asked between spots tested "
        "within 24 hours. Move one of them or test it on another day."
    )
    return Deviation("spacing", distance_m, allowed, message)


def count_deviation(tested: int, area: float, system: UnitSystem) -> Deviation | None:
    """The departure of a round with too few spots, or None."""
    needed = locations_needed(area, system)
    if tested >= needed:
        return None
    unit = "m²" if system is UnitSystem.SI else "ft²"
    message = (
        f"{tested} {'spot was' if tested == 1 else 'spots were'} tested; {area:,.0f} {unit} asks for {needed}. "
        f"Test {needed - tested} more before calling the round complete."
    )
    return Deviation("too_few_locations", float(tested), f"at least {needed}", message)


def zone_shares(count: int, has_edge: bool, has_low: bool) -> dict[Zone, int]:
    """How many of `count` spots go to each zone: a third to the edge, one in six to the low spot.

    Every zone that exists gets at least one where the count allows. Own choice, see the module's sources.
    """
    if count < 1:
        raise ImpossibleRecordError(
            f"At least 1 spot is needed, got {count}. See how many the area asks for."
        )
    edge = max(1, round(count / 3)) if has_edge else 0
    low = max(1, round(count / 6)) if has_low and count > edge else 0
    return {Zone.EDGE: edge, Zone.LOW: low, Zone.INTERIOR: count - edge - low}


def choose_spots(
    plan: SurfacePlan, count: int, seed: int, spacing_m: float = 1.0, taken: Sequence[Point] = ()
) -> tuple[Spot, ...]:
    """Spots spread over edge strip, low spot and interior; the same seed gives the same spots.

    taken: positions of spots that are there already, to keep the distance from. Raises ImpossibleRecordError when
    the outline is too small for so many spots at that spacing.
    """
    refuse_bad_plan(plan)
    rng = Random(seed)
    shares = zone_shares(count, bool(plan.run_on_edges), plan.low_point is not None)
    chosen = [Spot(x, y, Zone.INTERIOR) for x, y in taken]
    for zone, share in shares.items():
        for _ in range(share):
            chosen.append(_best_of_many(plan, zone, chosen, rng, spacing_m))
    return tuple(chosen[len(taken) :])


def outline_area_m2(outline: Sequence[Point]) -> float:
    """Area within the outline, by the shoelace formula."""
    following = [*outline[1:], *outline[:1]]
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(outline, following, strict=True))) / 2


def _best_of_many(
    plan: SurfacePlan, zone: Zone, chosen: Sequence[Spot], rng: Random, spacing_m: float
) -> Spot:
    """Of a few random candidates the one farthest from the spots chosen already (Mitchell 1991)."""
    best, best_room, fitting = None, -1.0, 0
    for _ in range(_TRIES_PER_SPOT):
        p = _random_point(plan, zone, rng)
        if not _fits(plan, p, zone):
            continue
        gap = min((hypot(p[0] - s.x_m, p[1] - s.y_m) for s in chosen), default=inf)
        # A spot inside is to stand for the inside: its distance from the sides counts like half a gap.
        room = min(gap, 2 * _clearance(plan, p)) if zone is Zone.INTERIOR else gap
        if gap >= spacing_m + _ROUNDING_M and room > best_room:
            best, best_room = Spot(round(p[0], 2), round(p[1], 2), zone), room
        fitting += 1
        if fitting >= _CANDIDATES and best is not None:
            break
    if best is None:
        raise ImpossibleRecordError(
            f"No room for another spot in the {zone.value} zone with {spacing_m:g} m between spots. "
            "Check the outline and its metres, or ask for fewer spots."
        )
    return best


def _clearance(plan: SurfacePlan, p: Point) -> float:
    return min(_distance(p, _side(plan, i)) for i in range(len(plan.outline)))


def _random_point(plan: SurfacePlan, zone: Zone, rng: Random) -> Point:
    if zone is Zone.LOW and plan.low_point is not None:
        x, y = plan.low_point
        return x + rng.uniform(-1, 1) * LOW_SPOT_RADIUS_M, y + rng.uniform(-1, 1) * LOW_SPOT_RADIUS_M
    if zone is Zone.EDGE:
        return _point_in_strip(plan, rng)
    xs, ys = zip(*plan.outline, strict=True)
    return rng.uniform(min(xs), max(xs)), rng.uniform(min(ys), max(ys))


def _point_in_strip(plan: SurfacePlan, rng: Random) -> Point:
    """A point beside a run-on side, on either hand of it; the wrong hand is refused as outside."""
    sides = [_side(plan, i) for i in plan.run_on_edges]
    (ax, ay), (bx, by) = rng.choices(sides, [_length(side) for side in sides])[0]
    along, off = rng.random(), rng.uniform(-EDGE_STRIP_M, EDGE_STRIP_M)
    length = hypot(bx - ax, by - ay)
    return ax + along * (bx - ax) - off * (by - ay) / length, ay + along * (by - ay) + off * (
        bx - ax
    ) / length


def _fits(plan: SurfacePlan, p: Point, zone: Zone) -> bool:
    sides = [_side(plan, i) for i in range(len(plan.outline))]
    if not _inside(plan.outline, p) or _clearance(plan, p) < RING_CLEARANCE_M:
        return False
    run_on = min((_distance(p, sides[i]) for i in plan.run_on_edges), default=inf)
    low = hypot(p[0] - plan.low_point[0], p[1] - plan.low_point[1]) if plan.low_point else inf
    if zone is Zone.EDGE:
        return True  # its candidates are drawn within the strip
    if zone is Zone.LOW:
        return low <= LOW_SPOT_RADIUS_M
    return run_on > EDGE_STRIP_M and low > LOW_SPOT_RADIUS_M


def _side(plan: SurfacePlan, i: int) -> tuple[Point, Point]:
    return plan.outline[i], plan.outline[(i + 1) % len(plan.outline)]


def _length(side: tuple[Point, Point]) -> float:
    return hypot(side[1][0] - side[0][0], side[1][1] - side[0][1])


def _distance(p: Point, side: tuple[Point, Point]) -> float:
    (ax, ay), (bx, by) = side
    dx, dy = bx - ax, by - ay
    t = max(0.0, min(1.0, ((p[0] - ax) * dx + (p[1] - ay) * dy) / (dx * dx + dy * dy)))
    return hypot(p[0] - ax - t * dx, p[1] - ay - t * dy)


def _inside(outline: Sequence[Point], p: Point) -> bool:
    """Even-odd rule: a ray to the right crosses the outline an odd number of times."""
    inside = False
    for (ax, ay), (bx, by) in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (ay > p[1]) != (by > p[1]) and p[0] < ax + (p[1] - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def refuse_bad_plan(plan: SurfacePlan) -> None:
    """Raise ImpossibleRecordError for an outline that encloses nothing, or sides and points that are not of it."""
    if len(plan.outline) < 3:
        raise ImpossibleRecordError(
            f"An outline needs 3 corners or more, got {len(plan.outline)}. Draw the surface again."
        )
    if not all(isfinite(v) for corner in plan.outline for v in corner):
        raise ImpossibleRecordError("A corner of the outline is not a number. Draw the surface again.")
    if any(_length(_side(plan, i)) == 0 for i in range(len(plan.outline))):
        raise ImpossibleRecordError("Two corners of the outline lie on each other. Remove one.")
    if outline_area_m2(plan.outline) < 1e-6:
        raise ImpossibleRecordError(
            "The outline has no area: its corners lie on one line. Check their metres."
        )
    if plan.low_point and not _inside(plan.outline, plan.low_point):
        x, y = plan.low_point
        raise ImpossibleRecordError(f"The low point {x:g}, {y:g} lies outside the outline. Check its metres.")
    wrong = [i for i in plan.run_on_edges if not 0 <= i < len(plan.outline)]
    if wrong:
        raise ImpossibleRecordError(
            f"Side {wrong[0] + 1} does not exist; the outline has sides 1 to {len(plan.outline)}."
        )
