"""What rain records say: of the day before a test, and of each month."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from qa.calc.dry_time import LOOK_BACK, DryTime, dry_time
from qa.calc.rain_record import Fall, Span, without
from qa.models import InfiltrationTest, RainRecord, TestRound


@dataclass(frozen=True, slots=True)
class MonthOfRain:
    """What fell in a month, by the calendar of the record's place. covered: share of its time that is known of."""

    depth_mm: float
    covered: float


class KnownRain:
    """A record's rain in memory, in order of time. Two queries, whatever is asked of it then."""

    def __init__(self, record: RainRecord, within: Span | None = None) -> None:
        falls: Any = record.falls.order_by("begins_at")
        if within is not None:
            falls = falls.filter(begins_at__lt=within.ends, ends_at__gt=within.begins)
        self.falls = [
            Fall(Span(b, e), mm) for b, e, mm in falls.values_list("begins_at", "ends_at", "depth_mm")
        ]
        self.covers = [
            Span(b, e) for b, e in record.covers.order_by("begins_at").values_list("begins_at", "ends_at")
        ]
        self._begins = [fall.span.begins for fall in self.falls]
        self._cover_begins = [span.begins for span in self.covers]
        self._cover_ends = [span.ends for span in self.covers]

    def before(self, tested: Span) -> Sequence[Fall]:
        """What may have fallen in the LOOK_BACK before some tests, and during them."""
        first = bisect_left(self._begins, tested.begins - LOOK_BACK)
        return self.falls[first : bisect_right(self._begins, tested.ends)]

    def covers_of(self, asked: Span) -> Sequence[Span]:
        """The covered spans that reach into a span: a record with gaps has thousands of others."""
        first = bisect_left(self._cover_ends, asked.begins)
        return self.covers[first : bisect_right(self._cover_begins, asked.ends)]

    def dry_before(self, round_: TestRound, tests: Sequence[InfiltrationTest]) -> DryTime:
        """The hours without rain before a round."""
        tested = span_tested(round_, tests)
        covers = self.covers_of(Span(tested.begins - LOOK_BACK, tested.ends))
        return dry_time(tested, self.before(tested), covers, round_.hours_since_rain)


def span_tested(round_: TestRound, tests: Sequence[InfiltrationTest]) -> Span:
    """When the first test of a round began: by the stopwatch, else at some time of its day at the site."""
    begun = [_begun(test) for test in tests if test.finished_at]
    if begun and len(begun) == len(tests):
        return Span(min(begun), min(begun) + timedelta(seconds=1))
    zone = ZoneInfo(round_.surface.site.time_zone)
    midnight = datetime.combine(round_.tested_on, time(), tzinfo=zone).astimezone(UTC)
    return Span(midnight, midnight + timedelta(days=1))


def _begun(test: InfiltrationTest) -> datetime:
    assert test.finished_at is not None  # as the caller asked
    return test.finished_at - timedelta(seconds=test.elapsed_s or 0.0)


def dry_time_of(round_: TestRound) -> DryTime | None:
    """What the rain record of a round's site says of the hours before it; None where the site has none."""
    record = round_.surface.site.rain_record
    if record is None:
        return None
    tests = active_tests(round_)
    tested = span_tested(round_, tests)
    return KnownRain(record, Span(tested.begins - LOOK_BACK, tested.ends)).dry_before(round_, tests)


@dataclass(frozen=True, slots=True)
class DoubtfulRound:
    """A round that a person should look at again, and why."""

    round: TestRound
    dry: DryTime


def doubtful_rounds(record: RainRecord, rounds: QuerySet[TestRound], known: KnownRain) -> list[DoubtfulRound]:
    """Of these rounds those at sites of a record whose dry time it does not bear out, the newest first."""
    rows = rounds.active().filter(surface__site__rain_record=record)  # type: ignore[attr-defined]
    of_sites = rows.select_related("surface__site").prefetch_related("tests").order_by("-tested_on", "pk")
    found = [DoubtfulRound(row, known.dry_before(row, active_tests(row))) for row in of_sites]
    return [each for each in found if each.dry.asks_for_a_look]


def active_tests(round_: TestRound) -> list[InfiltrationTest]:
    """The tests of a round that count, of those fetched with it."""
    return [test for test in round_.tests.all() if test.is_active]


def months_of(record: RainRecord, known: KnownRain) -> Mapping[int, Mapping[int, MonthOfRain]]:
    """By year and month. Months of which nothing is known are left out."""
    zone = ZoneInfo(record.time_zone)
    depths: dict[tuple[int, int], float] = defaultdict(float)
    for fall in known.falls:
        at = fall.span.begins.astimezone(zone)
        depths[at.year, at.month] += fall.depth_mm
    found: dict[int, dict[int, MonthOfRain]] = defaultdict(dict)
    for year, month in _months_between(known.covers, zone):
        whole = _month(year, month, zone)
        missed = without([whole], known.covers_of(whole))
        covered = 1.0 - sum((span.ends - span.begins) / (whole.ends - whole.begins) for span in missed)
        if covered > 0:
            found[year][month] = MonthOfRain(depths[year, month], covered)
    return found


def _months_between(covers: Sequence[Span], zone: ZoneInfo) -> list[tuple[int, int]]:
    if not covers:
        return []
    first, last = covers[0].begins.astimezone(zone), covers[-1].ends.astimezone(zone)
    numbers = range(12 * first.year + first.month - 1, 12 * last.year + last.month)
    return [(number // 12, number % 12 + 1) for number in numbers]


def _month(year: int, month: int, zone: ZoneInfo) -> Span:
    after = (year + month // 12, month % 12 + 1)
    begins, ends = (datetime(y, m, 1, tzinfo=zone).astimezone(UTC) for y, m in ((year, month), after))
    return Span(begins, ends)
