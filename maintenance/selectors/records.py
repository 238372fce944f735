"""Reading what pages and reports show, put together as plain data."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Prefetch, QuerySet, prefetch_related_objects
from django.utils.translation import gettext as _

from core.calc.bounds import Bound
from core.calc.format import figure
from core.calc.paving import TestMethod
from maintenance.calc.data_quality import data_quality_notes
from maintenance.calc.decline import CleaningMark, DeclineRecord, LimitReach, MeasuredRate, RoundMean
from maintenance.calc.forecast_payload import ForecastOutlook, GainOfCleaning
from maintenance.calc.vocabulary import WORST_FIRST, RecordKind, SurfaceState
from maintenance.models import CleaningEvent, Forecast
from qa.calc.rounds import geometric_mean
from qa.models import InfiltrationTest, Inspection, SourceChange, Surface, TestRound
from qa.selectors.inspections import with_findings
from qa.selectors.rounds import by_method, spot_rates


def state_counts(states: Iterable[str | None] | Mapping[str | None, int]) -> list[tuple[str, str, int]]:
    """How many surfaces are in each state: key, word, count; worst first. states: one a surface, or counted already."""
    counts = Counter(states)
    unknown = counts.pop(None, 0)
    counts[SurfaceState.NOT_TESTED.value] += unknown
    return [(state.value, state.label, counts[state]) for state in WORST_FIRST]


def counted_together(surfaces: QuerySet[Surface]) -> tuple[Counter[str | None], Counter[str]]:
    """How many surfaces are in which state, and in which time zone; by one question."""
    columns = surfaces.order_by().values_list("forecast__surface_state", "site__time_zone")
    states: Counter[str | None] = Counter()
    zones: Counter[str] = Counter()
    for state, zone, count in columns.annotate(n=Count("pk")):
        states[state] += count
        zones[zone] += count
    return states, zones


@dataclass(frozen=True, slots=True)
class RecordItem:
    """One line of a surface's record: a round, a cleaning, an inspection or a change of source.

    method: which method the mean is of, the ring where it was used; methods are never pooled. others:
    names of further methods of that round. left_out: tests of the round that do not count, since a deviation or the
    weather voids them.
    """

    on: date
    kind: RecordKind
    row: TestRound | CleaningEvent | Inspection | SourceChange
    mean_mm_h: float | None = None
    spots: int = 0
    bounded: bool = False
    gain: GainOfCleaning | None = None
    method: TestMethod | None = None
    others: Sequence[str] = ()
    left_out: int = 0

    @property
    def method_note(self) -> str:
        """The method's name where it is not the usual ring test."""
        return self.method.in_sentence if self.method and self.method is not TestMethod.RING else ""


def fetch_records(surfaces: Sequence[Surface]) -> None:
    """Read everything recorded of many surfaces at once; what was read before is not read again."""
    tests = InfiltrationTest.objects.active().select_related("location")
    rounds = TestRound.objects.select_related("recorded_by").prefetch_related(
        Prefetch("tests", queryset=tests, to_attr="active_tests")
    )
    events = CleaningEvent.objects.select_related("recorded_by").order_by("cleaned_on", "created_at")
    seen = with_findings(Inspection.objects.order_by("inspected_on", "created_at"))
    changes = SourceChange.objects.select_related("recorded_by")
    prefetch_related_objects(
        surfaces,
        Prefetch("rounds", rounds),
        Prefetch("cleanings", events),
        Prefetch("inspections", seen),
        Prefetch("source_changes", changes),
    )


def record_of(surface: Surface, forecast: Forecast | None) -> list[RecordItem]:
    """Everything recorded of a surface, newest first, with what each round and cleaning showed."""
    fetch_records([surface])
    gains = _gains_by_day(forecast)
    items = [_round_item(round_) for round_ in surface.rounds.all()]
    items += [
        RecordItem(
            event.cleaned_on,
            RecordKind.CLEANING,
            event,
            gain=_take(gains, event) if event.is_active else None,
        )
        for event in surface.cleanings.all()
    ]
    items += [RecordItem(row.inspected_on, RecordKind.INSPECTION, row) for row in surface.inspections.all()]
    items += [RecordItem(row.changed_on, RecordKind.SOURCE, row) for row in surface.source_changes.all()]
    return sorted(items, key=lambda item: (item.on, item.row.created_at), reverse=True)


def _round_item(round_: Any) -> RecordItem:
    valid = [test for test in round_.active_tests if test.is_valid]
    sorted_in = by_method(valid)
    leading = next(iter(sorted_in), None)
    rates = spot_rates(sorted_in[leading]) if leading else []
    used = {TestMethod(test.method).in_sentence for test in valid if test.method != leading}
    return RecordItem(
        round_.tested_on,
        RecordKind.ROUND,
        round_,
        mean_mm_h=geometric_mean(rates).rate_mm_h if rates else None,
        spots=len(rates),
        bounded=any(r.bound is not Bound.EXACT for r in rates),
        method=leading,
        others=sorted(used),
        left_out=len(round_.active_tests) - len(valid),
    )


Gains = dict[tuple[date, str], list[GainOfCleaning]]


def _gains_by_day(forecast: Forecast | None) -> Gains:
    gains: Gains = defaultdict(list)
    outlook = forecast.outlook if forecast else None
    for gain in outlook.gains if outlook else ():
        gains[gain.on, gain.method].append(gain)
    return gains


def _take(gains: Gains, event: CleaningEvent) -> GainOfCleaning | None:
    left = gains[event.cleaned_on, event.method]
    return left.pop(0) if left else None


def decline_record(
    surface: Surface, forecast: Forecast, outlook: ForecastOutlook, items: Sequence[RecordItem]
) -> DeclineRecord:
    """What the decline chart draws."""
    active = [item for item in items if item.row.is_active]
    rounds = [item for item in active if item.kind is RecordKind.ROUND and item.mean_mm_h]
    return DeclineRecord(
        past=outlook.past,
        future=outlook.future,
        below=outlook.below,
        tests=tuple(rate for item in rounds for rate in _measured(item)),
        rounds=tuple(
            RoundMean(item.on, item.mean_mm_h or 0.0) for item in rounds if item.method is TestMethod.RING
        ),
        cleanings=tuple(
            CleaningMark(item.on, _cleaning_words(item))
            for item in active
            if item.kind is RecordKind.CLEANING
        ),
        limit_mm_h=surface.limit_mm_h,
        reach=LimitReach(forecast.below_10_on, forecast.below_50_on, forecast.below_90_on),
        today=forecast.made_on or surface.opened_on,
    )


def _measured(item: RecordItem) -> Iterator[MeasuredRate]:
    for test in item.row.active_tests:  # type: ignore[union-attr]
        if test.gives_rate and test.is_valid:
            method = TestMethod(test.method)
            yield MeasuredRate(item.on, test.rate_mm_h, Bound(test.bound), test.place, method)


def _cleaning_words(item: RecordItem) -> str:
    """The method, and what it gave by the tests and by the model."""
    words = item.row.get_method_display()  # type: ignore[union-attr]
    if item.gain is None:
        return words
    measured, factor = item.gain.measured_factor, item.gain.factor
    middle, low, high = (figure(value) for value in (factor.median, factor.lo80, factor.hi80))
    if not measured:
        said = _("{cleaning}; no tests on both sides; by the model {middle} ({low} to {high})")
        return said.format(cleaning=words, middle=middle, low=low, high=high)
    said = _("{cleaning}; by the tests {measured} times the rate; by the model {middle} ({low} to {high})")
    return said.format(cleaning=words, measured=figure(measured), middle=middle, low=low, high=high)


def data_quality_of(forecast: Forecast | None, items: Sequence[RecordItem]) -> list[str]:
    """What is odd in the record of a surface, in sentences."""
    active = [item for item in items if item.row.is_active]
    rounds = [item for item in active if item.kind is RecordKind.ROUND]
    tests = [test for item in rounds for test in item.row.active_tests if test.gives_rate]  # type: ignore[union-attr]
    valid = [test for test in tests if test.is_valid]
    outlook = forecast.outlook if forecast else None
    return data_quality_notes(
        outlook.rounds if outlook else (),
        tests=len(valid),
        bounded_tests=sum(test.bound != Bound.EXACT for test in valid),
        cleanings=sum(item.kind is RecordKind.CLEANING for item in active),
        fastest_mm_h=max((test.rate_mm_h or 0.0 for test in tests if test.is_ring), default=0.0),
    )
