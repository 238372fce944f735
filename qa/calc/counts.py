"""How many spots to test, how far apart, and a reproducible choice of where.

Sources: ASTM C1701/C1701M and C1781/C1781M for number and spacing (from memory, verify against
the current edition). Zones: Brown & Borst 2014, J. Environ. Eng. 140(3): clogging starts at the
edge next to impervious lanes and moves inward, so spots strewn over the whole area miss it. The
shares a zone gets are our own choice, not a standard's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil, hypot, inf
from random import Random

from core.calc.choices import TextChoice
from core.calc.format import fixed
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, ngettext
from core.calc.units import MM_PER_FT, MM_PER_M, Measure, Quantity, UnitSystem, to_display
from core.errors import ImpossibleRecordError
from qa.calc.deviations import Deviation, require_positive
from qa.calc.outlines import (
    Point,
    Side,
    SurfacePlan,
    distance_m,
    is_inside,
    refuse_bad_plan,
    refuse_outside,
    sides_of,
)

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


def locations_needed(area: float, system: UnitSystem) -> int:
    """Number of spots to test in one round; area in m² or ft² by the unit system of the tests.

    3 up to 2500 m² (25 000 ft²), one more for each further 1000 m² (10 000 ft²) or fraction. The two
    systems are separate rules: 25 500 ft² needs 4, though its 2369 m² would need 3.

    Source: ASTM C1701/C1701M, C1781/C1781M (from memory, verify against the current edition).
    """
    require_positive(
        gettext_noop("Area"),
        area,
        "m²" if system is UnitSystem.SI else "ft²",
        gettext_noop("Enter the area of the surface."),
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
        apart_m = hypot(p[0] - q[0], p[1] - q[1])
        if apart_m < least_m - 1e-9:
            found.append(_too_close(first, second, apart_m, system))
    return tuple(found)


def _too_close(first: str, second: str, apart_m: float, system: UnitSystem) -> Deviation:
    apart = to_display(apart_m, Quantity.LENGTH, system)
    allowed = _("at least {least}").format(least=f"{fixed(MINIMUM_SPACING[system], 2)} {apart.unit}")
    message = _(
        "Spots {first} and {second} are {apart} apart; {allowed} is asked between spots "
        "tested within 24 hours. Move one of them or test it on another day."
    )
    there = f"{fixed(apart.value, 2)} {apart.unit}"
    return Deviation(
        "spacing", apart_m, allowed, message.format(first=first, second=second, apart=there, allowed=allowed)
    )


def count_deviation(tested: int, area: float, system: UnitSystem) -> Deviation | None:
    """The deviation of a round with too few spots, or None."""
    needed = locations_needed(area, system)
    if tested >= needed:
        return None
    unit = "m²" if system is UnitSystem.SI else "ft²"
    message = ngettext(
        "{tested} spot was tested; {area} asks for {needed}. Test {more} more before calling the round complete.",
        "{tested} spots were tested; {area} asks for {needed}. Test {more} more before calling the round complete.",
        tested,
    )
    asked = f"{fixed(area, 0, parted=True)} {unit}"
    said = message.format(tested=tested, area=asked, needed=needed, more=needed - tested)
    return Deviation("too_few_locations", float(tested), _("at least {least}").format(least=needed), said)


def zone_shares(count: int, has_edge: bool, has_low: bool) -> dict[Zone, int]:
    """How many of `count` spots go to each zone: a third to the edge, one in six to the low spot.

    Every zone that exists gets at least one where the count allows. Own choice, see the module's sources.
    """
    if count < 1:
        raise ImpossibleRecordError(
            _("At least 1 spot is needed, got {count}. See how many the area asks for.").format(count=count)
        )
    edge = max(1, round(count / 3)) if has_edge else 0
    low = max(1, round(count / 6)) if has_low and count > edge else 0
    return {Zone.EDGE: edge, Zone.LOW: low, Zone.INTERIOR: count - edge - low}


def choose_spots(
    plan: SurfacePlan,
    count: int,
    seed: int,
    taken: Sequence[Point] = (),
    system: UnitSystem = UnitSystem.SI,
) -> tuple[Spot, ...]:
    """Spots spread over edge strip, low spot and interior; the same seed gives the same spots.

    taken: positions of spots that are there already, to keep the distance from. system: by whose rule of
    spacing, and the units of what is said. Raises ImpossibleRecordError for a bad outline, and when it is too
    small for so many spots.
    """
    refuse_bad_plan(plan, system)
    refuse_outside(
        plan.outline,
        {_("Spot {number}").format(number=n): spot for n, spot in enumerate(taken, start=1)},
        system,
    )
    rng = Random(seed)
    shares = zone_shares(count, bool(plan.run_on_edges), plan.low_point is not None)
    chosen = [Spot(x, y, Zone.INTERIOR) for x, y in taken]
    for zone, share in shares.items():
        for _spot in range(share):
            chosen.append(_best_of_many(plan, zone, chosen, rng, system))
    return tuple(chosen[len(taken) :])


def _best_of_many(
    plan: SurfacePlan, zone: Zone, chosen: Sequence[Spot], rng: Random, system: UnitSystem
) -> Spot:
    """Of a few random candidates the one farthest from the spots chosen already (Mitchell 1991)."""
    best, best_room, fitting, spacing_m = None, -1.0, 0, minimum_spacing_m(system)
    for _try in range(_TRIES_PER_SPOT):
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
        raise ImpossibleRecordError(_no_room(zone, to_display(spacing_m, Quantity.LENGTH, system)))
    return best


def _no_room(zone: Zone, spacing: Measure) -> str:
    said = {
        Zone.EDGE: _("No room for another spot in the edge zone with {spacing} between spots."),
        Zone.INTERIOR: _("No room for another spot in the interior zone with {spacing} between spots."),
        Zone.LOW: _("No room for another spot in the low zone with {spacing} between spots."),
    }
    return " ".join((said[zone].format(spacing=spacing), _("Check the outline, or ask for fewer spots.")))


def _clearance(plan: SurfacePlan, p: Point) -> float:
    return min(distance_m(p, side) for side in sides_of(plan.outline))


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
    sides = _run_on_sides(plan)
    (ax, ay), (bx, by) = rng.choices(sides, [_length(side) for side in sides])[0]
    along, off = rng.random(), rng.uniform(-EDGE_STRIP_M, EDGE_STRIP_M)
    length = hypot(bx - ax, by - ay)
    return ax + along * (bx - ax) - off * (by - ay) / length, ay + along * (by - ay) + off * (
        bx - ax
    ) / length


def _fits(plan: SurfacePlan, p: Point, zone: Zone) -> bool:
    if not is_inside(plan.outline, p) or _clearance(plan, p) < RING_CLEARANCE_M:
        return False
    run_on = min((distance_m(p, side) for side in _run_on_sides(plan)), default=inf)
    low = hypot(p[0] - plan.low_point[0], p[1] - plan.low_point[1]) if plan.low_point else inf
    if zone is Zone.EDGE:
        return True  # its candidates are drawn within the strip
    if zone is Zone.LOW:
        return low <= LOW_SPOT_RADIUS_M
    return run_on > EDGE_STRIP_M and low > LOW_SPOT_RADIUS_M


def _run_on_sides(plan: SurfacePlan) -> list[Side]:
    sides = sides_of(plan.outline)
    return [sides[i] for i in plan.run_on_edges]


def _length(side: Side) -> float:
    return hypot(side[1][0] - side[0][0], side[1][1] - side[0][1])
