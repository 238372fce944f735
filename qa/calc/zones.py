"""How much of a surface each zone is, so that a spot counts for the area it stands for.

A third of the spots stand at the edge, where clogging begins, though the strip may be a tenth of the area: with every
spot alike, the surface would read as clogged as its edge. Weights by area: stratified estimation (Cochran 1977,
Sampling Techniques, 3rd ed., ch. 5; from memory). The zones are those in which `counts` places spots.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from shapely import LineString, Point, Polygon, union_all

from qa.calc.counts import EDGE_STRIP_M, LOW_SPOT_RADIUS_M, Zone
from qa.calc.outlines import SurfacePlan, sides_of


def zone_areas_m2(plan: SurfacePlan) -> dict[Zone, float]:
    """Square metres of the outline in each zone; where the low spot meets the edge strip it is the low spot's."""
    whole = Polygon(plan.outline)
    low = Point(plan.low_point).buffer(LOW_SPOT_RADIUS_M, quad_segs=64) if plan.low_point else Polygon()
    sides = sides_of(plan.outline)
    strip = union_all([LineString(sides[i]).buffer(EDGE_STRIP_M, quad_segs=64) for i in plan.run_on_edges])
    low_m2 = whole.intersection(low).area
    edge_m2 = whole.intersection(strip).difference(low).area
    return {Zone.EDGE: edge_m2, Zone.LOW: low_m2, Zone.INTERIOR: max(whole.area - edge_m2 - low_m2, 0.0)}


def weights_of(zones: Sequence[Zone | None], areas_m2: Mapping[Zone, float] | None) -> list[float]:
    """The area each tested spot stands for: that of its zone, shared with the other spots of the zone.

    zones: of the spots of one round, None where it is not known. All alike where the plan does not tell: without a
    plan, with a spot in no known zone, or one in a zone that the plan does not have.
    """
    count = Counter(zones)
    if areas_m2 is None or any(zone is None or areas_m2[zone] <= 0.0 for zone in count):
        return [1.0] * len(zones)
    return [areas_m2[zone] / count[zone] for zone in zones if zone is not None]
