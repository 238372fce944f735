"""Reading what pages and reports show, put together as plain data."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects

from core.calc.format import figure
from maintenance.calc.data_quality import RoundSeen, data_quality_notes
from maintenance.models import CleaningEvent, Forecast
from maintenance.models.forecasts import SurfaceState
from qa.calc.methods import METHODS, Method
from qa.calc.rounds import geometric_mean
from qa.models import InfiltrationTest, Surface, TestRound
from qa.selectors.rounds import by_method, spot_rates


def state_counts(states: Iterable[str | None]) -> list[tuple[str, str, int]]:
    """How many surfaces are in each state: key, word, count; worst first."""
    counts = Counter(state or SurfaceState.NOT_TESTED.value for state in states)
    order = ("below_limit", "clean_soon", "watch", "not_tested", "draining")
    return [(key, SurfaceState(key).label, counts[key]) for key in order]


@dataclass(frozen=True, slots=True)
class RecordItem:
    """One line of a surface's record: a round or a cleaning.

    method: which method the mean is of, the ring where it was used; methods are never pooled. others:
    names of further methods of that round.
    """

    on: date
    kind: str
    row: TestRound | CleaningEvent
    mean_mm_h: float | None = None
    spots: int = 0
    bounded: bool = False
    gain: dict[str, Any] | None = None
    method: Method | None = None
    others: Sequence[str] = ()

    @property
    def method_note(self) -> str:
        """The method's name where it is not the usual ring test."""
        return METHODS[self.method].name if self.method and self.method is not Method.RING else ""


def fetch_records(surfaces: Sequence[Surface]) -> None:
    """Read the rounds, tests and cleanings of many surfaces at once; what was read before is not read again."""
    tests = InfiltrationTest.objects.active().select_related("location")
    rounds = TestRound.objects.select_related("recorded_by").prefetch_related(
        Prefetch("tests", queryset=tests, to_attr="active_tests")
    )
    events = CleaningEvent.objects.select_related("recorded_by").order_by("cleaned_on", "created_at")
    prefetch_related_objects(surfaces, Prefetch("rounds", rounds), Prefetch("cleanings", events))


def record_of(surface: Surface, forecast: Forecast | None) -> list[RecordItem]:
    """Everything recorded of a surface, newest first, with what each round and cleaning showed."""
    fetch_records([surface])
    gains = _gains_by_day(forecast)
    items = [_round_item(round_) for round_ in surface.rounds.all()]
    items += [
        RecordItem(event.cleaned_on, "cleaning", event, gain=_take(gains, event) if event.is_active else None)
        for event in surface.cleanings.all()
    ]
    return sorted(items, key=lambda item: (item.on, item.row.created_at), reverse=True)


def _round_item(round_: Any) -> RecordItem:
    sorted_in = by_method(round_.active_tests)
    leading = next(iter(sorted_in), None)
    rates = spot_rates(sorted_in[leading]) if leading else []
    used = {METHODS[Method(test.method)].name for test in round_.active_tests if test.method != leading}
    return RecordItem(
        round_.tested_on,
        "round",
        round_,
        mean_mm_h=geometric_mean(rates).rate_mm_h if rates else None,
        spots=len(rates),
        bounded=any(r.bound != "=" for r in rates),
        method=leading,
        others=sorted(used),
    )


def _gains_by_day(forecast: Forecast | None) -> dict[tuple[str, str], list[dict[str, Any]]]:
    gains: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for gain in (forecast.detail or {}).get("gains", []) if forecast else []:
        gains[gain["on"], gain["method"]].append(gain)
    return gains


def _take(gains: dict[tuple[str, str], list[dict[str, Any]]], event: CleaningEvent) -> dict[str, Any] | None:
    left = gains[event.cleaned_on.isoformat(), event.method]
    return left.pop(0) if left else None


def chart_record(surface: Surface, forecast: Forecast, items: Sequence[RecordItem]) -> dict[str, Any]:
    """What the decline chart draws."""
    active = [item for item in items if item.row.is_active]
    rounds = [item for item in active if item.kind == "round" and item.mean_mm_h]
    return {
        "past": forecast.detail["past"],  # type: ignore[index]
        "future": forecast.detail["future"],  # type: ignore[index]
        "tests": [
            {
                "on": item.on.isoformat(),
                "rate_mm_h": test.rate_mm_h,
                "bound": test.bound,
                "place": test.place,
                "method": test.method,
            }
            for item in rounds
            for test in item.row.active_tests  # type: ignore[union-attr]
            if test.gives_rate
        ],
        "rounds": [
            {"on": item.on.isoformat(), "mean_mm_h": item.mean_mm_h}
            for item in rounds
            if item.method is Method.RING
        ],
        "cleanings": [
            {"on": item.on.isoformat(), "what": _cleaning_words(item)}
            for item in active
            if item.kind == "cleaning"
        ],
        "limit_mm_h": surface.limit_mm_h,
        "reach": {
            name: day.isoformat() if day else None
            for name, day in (
                ("below_10_on", forecast.below_10_on),
                ("below_50_on", forecast.below_50_on),
                ("below_90_on", forecast.below_90_on),
            )
        },
        "today": (forecast.made_on or surface.opened_on).isoformat(),
    }


def _cleaning_words(item: RecordItem) -> str:
    """The method, and what it gave by the tests and by the model."""
    words = item.row.get_method_display()  # type: ignore[union-attr]
    if item.gain is None:
        return words
    measured = item.gain["measured_factor"]
    by_tests = f"; by the tests {figure(measured)} times the rate" if measured else "; no tests on both sides"
    factor = item.gain["factor"]
    middle, low, high = (figure(factor[name]) for name in ("median", "lo80", "hi80"))
    return f"{words}{by_tests}; by the model {middle} ({low} to {high})"


def data_quality_of(forecast: Forecast | None, items: Sequence[RecordItem]) -> list[str]:
    """What is odd in the record of a surface, in sentences."""
    active = [item for item in items if item.row.is_active]
    rounds = [item for item in active if item.kind == "round"]
    tests = [test for item in rounds for test in item.row.active_tests if test.gives_rate]  # type: ignore[union-attr]
    checks = (forecast.detail or {}).get("checks", []) if forecast else []
    return data_quality_notes(
        [
            RoundSeen(
                date.fromisoformat(check["on"]),
                check["measured_mm_h"],
                check["expected"]["median"],
                *check["pit"],
            )
            for check in checks
        ],
        tests=len(tests),
        bounded_tests=sum(test.bound != "=" for test in tests),
        cleanings=sum(item.kind == "cleaning" for item in active),
        fastest_mm_h=max((test.rate_mm_h or 0.0 for test in tests if test.is_ring), default=0.0),
    )
