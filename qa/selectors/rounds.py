"""Reading what was measured, put together for pages and reports."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import Any, cast
from uuid import UUID

from django.db.models import Case, When

from accounts.models import User
from core.calc.bounds import Bound
from core.calc.paving import TestMethod
from core.calc.units import Quantity, UnitSystem, to_display
from qa.calc.acceptance import SpotsNotTaken, Verdict, judge_acceptance
from qa.calc.counts import locations_needed_m2, spacing_deviations
from qa.calc.deviations import Deviation
from qa.calc.methods import MethodFacts, facts_on, ring_range_mm_h
from qa.calc.ring import required_test_mass
from qa.calc.rounds import (
    BelowLimit,
    Purpose,
    Rate,
    RoundStatistics,
    Summary,
    below_limit,
    below_limit_in_ranges,
    more_tests_needed,
    round_deviations,
    round_statistics,
    spot_mean,
)
from qa.calc.validity import WEATHER
from qa.models import InfiltrationTest, Location, Surface, TestRound
from qa.selectors.surface_limits import acceptance_of

FACTORS = (1.25, 1.5, 2.0)


@dataclass(frozen=True, slots=True)
class SpotResult:
    """One spot by one method: its tests of the day in order, and their mean as its rate."""

    place: str
    tests: Sequence[InfiltrationTest]
    rate: Rate
    location: Location | None
    ring_range_mm_h: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class MethodResult:
    """What one method says of a round; methods are never pooled.

    against_limit: by the rates as measured, or by the converted range where one is published.
    """

    method: TestMethod
    spots: Sequence[SpotResult]
    statistics: RoundStatistics
    against_limit: BelowLimit
    surface_type: str

    @property
    def facts(self) -> MethodFacts:
        """The method's caution and source, the ring's by the standard for the surface."""
        return facts_on(self.method, self.surface_type)

    @property
    def converted(self) -> bool:
        """Whether the limit was held against converted values."""
        return self.spots[0].ring_range_mm_h is not None

    @property
    def is_ring(self) -> bool:
        """Whether these are ring tests, whose rule asks for a number of spots."""
        return self.method is TestMethod.RING

    def still_to_test(self, factor: float) -> int | None:
        """Further spots to know the surface's geometric mean within `factor`; None while no spread is known."""
        surface = self.statistics.surface
        if surface is None:
            return None
        return more_tests_needed(surface.spread_factor, len(self.spots), factor)


@dataclass(frozen=True, slots=True)
class RoundResult:
    """One round put together. `methods` holds those that give a rate, the ring first.

    tests: those that count, by any method. shown_only: screening and relative ones among them. invalid: those that
    stand in the record and do not count, since a deviation or the weather voids them. left_out: replaced or set aside.
    """

    tests: Sequence[InfiltrationTest]
    invalid: Sequence[InfiltrationTest]
    left_out: Sequence[InfiltrationTest]
    methods: Sequence[MethodResult]
    deviations: Sequence[Deviation]
    needed: int
    to_do: Sequence[Location]
    acceptance: Verdict | None = None

    @property
    def leading(self) -> MethodResult | None:
        """The method that speaks for the round: the ring where it was used."""
        return self.methods[0] if self.methods else None

    @property
    def statistics(self) -> RoundStatistics | None:
        """Statistics of the leading method; None while no test with a rate counts."""
        return self.leading.statistics if self.leading else None

    @property
    def against_limit(self) -> BelowLimit | None:
        """The leading method's spots against the limit."""
        return self.leading.against_limit if self.leading else None

    @property
    def shown_only(self) -> list[InfiltrationTest]:
        """Tests that count but give no rate."""
        return [test for test in self.tests if not test.gives_rate]

    @property
    def ring(self) -> MethodResult | None:
        """What the ring says: a number of spots and a rate when new are asked of it alone."""
        return self.leading if self.leading and self.leading.is_ring else None

    @property
    def spots(self) -> int:
        """Spots tested with the ring, to be held against `needed`."""
        return len(self.ring.spots) if self.ring else 0

    @property
    def standing(self) -> list[InfiltrationTest]:
        """All that stand in the record, those that do not count among them, in the order they were made."""
        return sorted((*self.tests, *self.invalid), key=attrgetter("made_at", "created_at"))

    @property
    def has_tests(self) -> bool:
        """Whether any test stands in the round, also one that does not count."""
        return bool(self.tests or self.invalid)

    @property
    def asks_for_spots(self) -> bool:
        """Whether a number of spots is asked of this round: not where other methods alone were used."""
        return self.leading is None or self.ring is not None

    @property
    def spots_not_taken(self) -> SpotsNotTaken:
        """Spots of the ring that do not count, or only as upper bounds, each with why."""
        valid = [test for test in self.tests if test.is_ring]
        counting = {test.place for test in valid}
        voided = [test for test in self.invalid if test.is_ring]
        return SpotsNotTaken(
            left_out=_why_by_place((t.place, t.voided_by) for t in voided if t.place not in counting),
            upper_bounds=_why_by_place((t.place, t.bounded_by) for t in valid if t.bounded_by),
            by_weather=any(each.key in WEATHER for test in voided for each in test.voided_by),
        )

    @property
    def still_needed(self) -> int:
        """Spots that are still asked for."""
        return max(0, self.needed - self.spots) if self.asks_for_spots else 0


def _why_by_place(found: Iterable[tuple[str, Sequence[Deviation]]]) -> dict[str, list[str]]:
    why: dict[str, list[str]] = defaultdict(list)
    for place, deviations in found:
        why[place] += [each.consequence.in_short for each in deviations]
    return dict(why)


def round_result(round_: TestRound, units: str) -> RoundResult:
    """What the tests of a round say together. `units` decides when no test was taken yet."""
    result = result_of(round_, list(round_.tests.select_related("location", "replaces")), units)
    return replace(result, to_do=_locations_to_do(round_.surface, result.tests))


def result_of(round_: TestRound, tests: Sequence[InfiltrationTest], units: str) -> RoundResult:
    """The same from tests that were read already, with their locations; asks the database nothing.

    Which spots are still to be tested is left open.
    """
    active = [test for test in tests if test.is_active]
    valid = [test for test in active if test.is_valid]
    surface = round_.surface
    system = UnitSystem(active[0].unit_system if active else units)
    methods = [_method_result(*each, surface) for each in by_method(valid).items()]
    result = RoundResult(
        tests=valid,
        invalid=[test for test in active if not test.is_valid],
        left_out=[test for test in tests if not test.is_active],
        methods=methods,
        deviations=_deviations(round_, methods, active, system),
        needed=locations_needed_m2(surface.area_m2, system),
        to_do=(),
    )
    if round_.purpose != Purpose.ACCEPTANCE:
        return result
    return replace(result, acceptance=acceptance_verdict(surface, result, units))


def acceptance_verdict(surface: Surface, result: RoundResult, units: str) -> Verdict:
    """What an acceptance round says, in the reader's units; asks the database nothing.

    Acceptance rates are asked of the ring test, so no other method is judged by them.
    """
    ring_tests = [test for test in result.tests if test.is_ring]
    return judge_acceptance(
        result.ring.statistics.mean if result.ring else None,
        acceptance_of(surface, units),
        spots=result.spots,
        needed=result.needed,
        not_taken=result.spots_not_taken,
        deviations=len(result.deviations) + sum(len(test.deviations) for test in ring_tests),
        system=UnitSystem(units),
    )


def latest_acceptance_round(surface: Surface) -> TestRound | None:
    """The latest acceptance round that counts, from rounds already read where a report read those of its surfaces."""
    kept = (r for r in surface.rounds.all() if r.is_active and r.purpose == Purpose.ACCEPTANCE)
    latest = next(kept, None)
    if latest is not None:
        latest.surface = surface
    return latest


@dataclass(frozen=True, slots=True)
class LatestMean:
    """The mean that the latest round reports, and the method that speaks for that round."""

    method: TestMethod
    mean: Summary


def latest_mean(surface: Surface) -> LatestMean | None:
    """The mean of the latest round with a rate that counts; None for an untested surface."""
    tests = InfiltrationTest.objects.in_active_rounds().valid().with_rate().filter(round__surface=surface)
    last = tests.order_by("-round__tested_on", "-round__created_at").first()
    if last is None:
        return None
    sorted_in = by_method(tests.filter(round=last.round_id).select_related("location"))
    method, leading = next(iter(sorted_in.items()))
    return LatestMean(method, round_statistics(spot_rates(leading)).mean)


def by_method(tests: Iterable[InfiltrationTest]) -> Mapping[TestMethod, list[InfiltrationTest]]:
    """Tests that give a rate, by method, in the order of `Method`: the ring first."""
    sorted_in: dict[TestMethod, list[InfiltrationTest]] = defaultdict(list)
    for test in tests:
        if test.gives_rate:
            sorted_in[TestMethod(test.method)].append(test)
    return {method: sorted_in[method] for method in TestMethod if method in sorted_in}


def spots_of(tests: Iterable[InfiltrationTest]) -> list[SpotResult]:
    """One result a spot, from tests by one method: the mean of the repeats made there that day."""
    by_spot: dict[object, list[InfiltrationTest]] = defaultdict(list)
    for test in tests:
        by_spot[test.location_id or test.spot].append(test)
    return [_spot_result(repeats) for repeats in by_spot.values()]


def last_ring_rates(locations: Sequence[Location]) -> dict[UUID, Rate]:
    """What the ring last read at each location, by its id: the mean of the repeats of that round."""
    tests = (
        InfiltrationTest.objects.in_active_rounds()
        .valid()
        .filter(location__in=locations, method=TestMethod.RING)
        .select_related("round", "location")
        .order_by("round__tested_on", "made_at", "created_at")
    )
    last: dict[UUID, list[InfiltrationTest]] = {}
    for test in tests:
        place = cast(UUID, test.location_id)  # only tests at locations were asked for
        same_round = last.get(place, [])
        kept = same_round if same_round and same_round[0].round_id == test.round_id else []
        last[place] = [*kept, test]
    return {place: spot_rates(repeats)[0] for place, repeats in last.items()}


def spot_rates(tests: Iterable[InfiltrationTest]) -> list[Rate]:
    """One rate a spot, from tests by one method."""
    return [spot.rate for spot in spots_of(tests)]


def needed_locations(surface: Surface, units: str) -> int:
    """How many spots one round needs, by the rule of the unit system."""
    return locations_needed_m2(surface.area_m2, UnitSystem(units))


def _spot_result(repeats: list[InfiltrationTest]) -> SpotResult:
    rates = [Rate(test.rate_mm_h or 0.0, Bound(test.bound)) for test in repeats]
    first, rate = repeats[0], spot_mean(rates)
    as_ring = ring_range_mm_h(TestMethod(first.method), rate.rate_mm_h)
    if as_ring and rate.bound in (Bound.BELOW, Bound.UNCLEAR):
        as_ring = (0.0, as_ring[1])  # at most the rate, so nothing holds it up from below
    return SpotResult(first.place, repeats, rate, first.location, as_ring)


def _method_result(method: TestMethod, tests: list[InfiltrationTest], surface: Surface) -> MethodResult:
    spots, limit_mm_h = spots_of(tests), surface.limit_mm_h
    rates = [spot.rate for spot in spots]
    ranges = [spot.ring_range_mm_h for spot in spots if spot.ring_range_mm_h]
    against = below_limit_in_ranges(ranges, limit_mm_h) if ranges else below_limit(rates, limit_mm_h)
    return MethodResult(method, spots, round_statistics(rates), against, surface.surface_type)


def _deviations(
    round_: TestRound,
    methods: Sequence[MethodResult],
    active: Sequence[InfiltrationTest],
    system: UnitSystem,
) -> Sequence[Deviation]:
    """Deviations of the round by the method that speaks for it; where no test counts, by those that were tried."""
    if not active:
        return ()
    area = to_display(round_.surface.area_m2, Quantity.AREA, system).value
    tried = {TestMethod(test.method) for test in active}
    method = methods[0].method if methods else next(each for each in TestMethod if each in tried)
    spots = len(methods[0].spots) if methods else 0
    found = round_deviations(round_.conditions, spots, area, system, method)
    return (*found, *spacing_deviations(_positions(methods), system))


def _positions(methods: Sequence[MethodResult]) -> dict[str, tuple[float, float]]:
    places = [spot.location for result in methods for spot in result.spots if spot.location]
    return {p.label: (p.x_m, p.y_m) for p in places if p.x_m is not None and p.y_m is not None}


def _locations_to_do(surface: Surface, valid: Iterable[InfiltrationTest]) -> list[Location]:
    done = {test.location_id for test in valid}
    return [location for location in surface.locations.filter(retired=False) if location.pk not in done]


def spots_tested(round_: TestRound, before: InfiltrationTest | None = None) -> dict[str, Any]:
    """What a test page needs to guide a repeat: by location, how often, when the first ended, its rate.

    Ring tests of this round; times in milliseconds since 1970, None where not recorded. rate_mm_h: None where the
    first does not count, so that no mean of the two is shown. test_mass: as the prewet time asks, else as it was used.
    before: those alone that there were at its spot before this one, which is corrected.
    """
    tests = round_.tests.active().filter(method=TestMethod.RING)
    if before is not None:
        tests = tests.filter(sequence__lt=before.sequence)
    seen: dict[str, Any] = {}
    for test in tests:
        key = str(test.location_id) if test.location_id else f"spot {test.spot}"
        first = seen.setdefault(
            key,
            {
                "tests": 0,
                "ended_ms": test.finished_at.timestamp() * 1000 if test.finished_at else None,
                "rate_mm_h": test.rate_mm_h if test.is_valid else None,
                "bound": test.bound,
                "prewet_time_s": test.prewet_time_s,
                "test_mass": _mass_for_repeat(test),
            },
        )
        first["tests"] += 1
    return seen


def _mass_for_repeat(first: InfiltrationTest) -> float | None:
    if first.prewet_time_s is None:
        return first.test_mass
    return required_test_mass(first.prewet_time_s, UnitSystem(first.unit_system))


def test_before(round_: TestRound, method: TestMethod, by: User) -> InfiltrationTest | None:
    """The test from which the next one takes over what stays as it is: the person's own last, else anybody's.

    A repeat without prewetting is none: it has no prewet mass to take over.
    """
    tests = round_.tests.active().filter(method=method, rewetted=True)
    own = Case(When(recorded_by=by, then=1), default=0)
    return tests.order_by(-own, "-made_at", "-created_at").first()


def last_ring_position(location: Location | None) -> str:
    """Where the ring last sat on the joint pattern at a location, so that it sits there again."""
    if location is None:
        return ""
    rows = location.tests.exclude(ring_position="").order_by("-round__tested_on", "-made_at", "-created_at")
    return rows.values_list("ring_position", flat=True).first() or ""
