"""Reading what was measured, put together for pages and reports."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from django.db.models import Count, QuerySet

from accounts.models import Organisation
from qa.calc.acceptance import Verdict, judge_acceptance
from qa.calc.counts import locations_needed_m2
from qa.calc.deviations import Bound, Deviation
from qa.calc.limits import Governing
from qa.calc.rounds import (
    BelowLimit,
    Rate,
    RoundConditions,
    RoundStatistics,
    below_limit,
    round_deviations,
    round_statistics,
    spot_mean,
)
from qa.calc.units import Quantity, UnitSystem, to_display
from qa.models import InfiltrationTest, Location, OwnBand, OwnLimit, Purpose, Surface, TestRound
from qa.surface_limits import acceptance_of


@dataclass(frozen=True, slots=True)
class RoundResult:
    """One round put together. `statistics` and `against_limit` are None while no test counts."""

    tests: Sequence[InfiltrationTest]
    left_out: Sequence[InfiltrationTest]
    statistics: RoundStatistics | None
    against_limit: BelowLimit | None
    deviations: Sequence[Deviation]
    needed: int
    spots: int
    to_do: Sequence[Location]
    acceptance: Verdict | None = None

    @property
    def still_needed(self) -> int:
        """Spots missing for the area."""
        return max(0, self.needed - self.spots)


def round_result(round_: TestRound, units: str) -> RoundResult:
    """What the tests of a round say together. `units` decides when no test was taken yet."""
    tests = list(round_.tests.select_related("location", "replaces").order_by("created_at"))
    counting = [test for test in tests if test.counts]
    rates = spot_rates(counting)
    surface = round_.surface
    system = UnitSystem(counting[0].unit_system if counting else units)
    result = RoundResult(
        tests=counting,
        left_out=[test for test in tests if not test.counts],
        statistics=round_statistics(rates) if rates else None,
        against_limit=below_limit(rates, surface.limit_mm_h) if rates else None,
        deviations=_deviations(round_, len(rates), system) if rates else (),
        needed=locations_needed_m2(surface.area_m2, system),
        spots=len(rates),
        to_do=_locations_to_do(surface, counting),
    )
    if round_.purpose != Purpose.ACCEPTANCE:
        return result
    return replace(result, acceptance=_judged(surface, result, units))


def _judged(surface: Surface, result: RoundResult, units: str) -> Verdict:
    return judge_acceptance(
        result.statistics.mean if result.statistics else None,
        acceptance_of(surface, units),
        spots=result.spots,
        needed=result.needed,
        departures=len(result.deviations) + sum(len(test.deviations) for test in result.tests),
        system=UnitSystem(units),
    )


@dataclass(frozen=True, slots=True)
class Acceptance:
    """The acceptance of a surface: what is asked when new, and what its latest acceptance round says."""

    asked: Governing | None
    round_: TestRound | None = None
    verdict: Verdict | None = None


def acceptance_standing(surface: Surface, units: str) -> Acceptance:
    """The latest acceptance round that counts, judged; without one, only what is asked."""
    asked = acceptance_of(surface, units)
    kept = (r for r in surface.rounds.all() if r.counts and r.purpose == Purpose.ACCEPTANCE)
    latest = next(kept, None)  # from rounds already read, where a report read those of all its surfaces
    if latest is None:
        return Acceptance(asked)
    latest.surface = surface
    return Acceptance(asked, latest, round_result(latest, units).acceptance)


def latest_mean_mm_h(surface: Surface) -> float | None:
    """The mean rate of the latest round with a test that counts; None for an untested surface."""
    tested = surface.rounds.counting().filter(tests__state="recorded").distinct().first()
    if tested is None:
        return None
    rates = spot_rates(tested.tests.filter(state="recorded"))
    return round_statistics(rates).mean.rate_mm_h


def own_bands(organisation: Organisation) -> QuerySet[OwnBand]:
    """The firm's own bands with the number of samples held to each, as `used`."""
    return OwnBand.objects.of_organisation(organisation).annotate(used=Count("sievings"))


def own_limits(organisation: Organisation) -> QuerySet[OwnLimit]:
    """The firm's own limits with the number of surfaces that use each, as `used`."""
    return OwnLimit.objects.of_organisation(organisation).annotate(used=Count("surfaces"))


def spot_rates(tests: Iterable[InfiltrationTest]) -> list[Rate]:
    """One rate a spot: the mean of the repeats made there that day."""
    by_spot: dict[object, list[Rate]] = defaultdict(list)
    for test in tests:
        by_spot[test.location_id or test.spot].append(Rate(test.rate_mm_h, Bound(test.bound)))
    return [spot_mean(repeats) for repeats in by_spot.values()]


def needed_locations(surface: Surface, units: str) -> int:
    """How many spots one round needs, by the rule of the unit system."""
    return locations_needed_m2(surface.area_m2, UnitSystem(units))


def _deviations(round_: TestRound, spots: int, system: UnitSystem) -> Sequence[Deviation]:
    area = to_display(round_.surface.area_m2, Quantity.AREA, system).value
    conditions = RoundConditions(round_.hours_since_rain, round_.standing_water)
    return round_deviations(conditions, spots, area, system)


def _locations_to_do(surface: Surface, counting: Sequence[InfiltrationTest]) -> list[Location]:
    done = {test.location_id for test in counting}
    return [location for location in surface.locations.filter(retired=False) if location.pk not in done]
