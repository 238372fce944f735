"""What cleanings gave against what was expected of them, by crew and method.

Expected is what the forecast said of the first round after a cleaning before it knew that round: the fit's share
restored, on that surface, on that day, with its range. So a crew is not praised for surfaces that were easy.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, log, sqrt

from core.calc.translation import gettext as _
from maintenance.calc.forecast_payload import RoundAgainstForecast

# Judgements of ours, no source.
SOON = timedelta(days=120)  # a round this long after a cleaning still tells of it
BEFORE = timedelta(days=400)  # and one this long before it
FEWEST = 5  # results below which nothing is said of a crew or a method
Z80 = 1.2816  # of the normal distribution, for an 80 % range


@dataclass(frozen=True, slots=True)
class Cleaned:
    """One cleaning with the rounds about it. crew: empty where no visit says who."""

    on: date
    method: str
    crew: str
    surface: str
    key: object
    before_mm_h: float | None
    after: RoundAgainstForecast | None

    @property
    def ratio(self) -> float | None:
        """The rate measured after over the rate expected; None without a round before or after."""
        if self.after is None or self.before_mm_h is None or self.after.measured_mm_h <= 0.0:
            return None
        return self.after.measured_mm_h / self.after.expected_mm_h.median

    @property
    def gave(self) -> float | None:
        """The rate after over the rate before, as measured."""
        return self.after.measured_mm_h / self.before_mm_h if self.after and self.before_mm_h else None

    @property
    def was_to_give(self) -> tuple[float, float, float] | None:
        """The same as expected: its middle and 80 % range."""
        if self.after is None or not self.before_mm_h:
            return None
        expected = self.after.expected_mm_h
        return tuple(rate / self.before_mm_h for rate in (expected.median, expected.lo80, expected.hi80))  # type: ignore[return-value]

    @property
    def is_within(self) -> bool:
        """Whether what was measured lies in the 80 % range."""
        after = self.after
        return (
            after is not None and after.expected_mm_h.lo80 <= after.measured_mm_h <= after.expected_mm_h.hi80
        )


@dataclass(frozen=True, slots=True)
class Summary:
    """Of one crew with one method, or of either. told: cleanings with a round on both sides; within: the 80 % range.

    ratio, low, high: measured over expected, geometric mean and its 80 % range; None below FEWEST
    """

    crew: str
    method: str
    cleanings: int
    told: int
    within: int
    ratio: float | None
    low: float | None
    high: float | None

    @property
    def says(self) -> str:
        """What can be said of it."""
        if self.low is None or self.high is None:
            said = _("too few to tell: at least {fewest} with rounds on both sides are needed")
            return said.format(fewest=FEWEST)
        if self.low > 1.0:
            return _("gives more than expected")
        if self.high < 1.0:
            return _("gives less than expected")
        return _("as expected, as far as can be told")


def rounds_about(
    on: date, rounds: Sequence[RoundAgainstForecast], others: Sequence[date]
) -> tuple[float | None, RoundAgainstForecast | None]:
    """The last round before a cleaning and the first after it, none where another cleaning lies between.

    others: days of the surface's other cleanings
    """
    before = [
        r for r in rounds if on - BEFORE <= r.on <= on and not any(r.on < other < on for other in others)
    ]
    after = [r for r in rounds if on < r.on <= on + SOON and not any(on <= other < r.on for other in others)]
    first = min(after, key=lambda r: r.on, default=None)
    last = max(before, key=lambda r: r.on, default=None)
    return (last.measured_mm_h if last else None), first


def summaries(cleaned: Iterable[Cleaned], *, by_crew: bool, by_method: bool) -> list[Summary]:
    """One for each crew, method, or both, the most told first."""
    groups: dict[tuple[str, str], list[Cleaned]] = defaultdict(list)
    for one in cleaned:
        groups[one.crew if by_crew else "", one.method if by_method else ""].append(one)
    found = [_summary(*key, rows) for key, rows in groups.items()]
    return sorted(found, key=lambda each: (-each.told, each.crew, each.method))


def _summary(crew: str, method: str, rows: Sequence[Cleaned]) -> Summary:
    logs = [log(row.ratio) for row in rows if row.ratio]
    within = sum(row.is_within for row in rows if row.ratio)
    if len(logs) < FEWEST:
        return Summary(crew, method, len(rows), len(logs), within, None, None, None)
    mean = sum(logs) / len(logs)
    error = sqrt(sum((x - mean) ** 2 for x in logs) / (len(logs) - 1) / len(logs))
    low, high = exp(mean - Z80 * error), exp(mean + Z80 * error)
    return Summary(crew, method, len(rows), len(logs), within, exp(mean), low, high)
