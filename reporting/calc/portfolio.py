"""Many surfaces at once: how they stand by group, how that went, what is due, and what clogs or lasts.

Everything here is worked out from plain rows, one a surface, a round of tests or a cleaning.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from statistics import median, quantiles
from typing import NamedTuple

from core.calc.choices import TextChoice
from core.calc.paving import CleaningMethod, SurfaceType, Traffic
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from maintenance.calc.vocabulary import WORST_FIRST, SurfaceState

FEWEST = 5  # surfaces, or cleanings, below which a group is not described by a median
BESIDE = timedelta(days=120)  # how far from a cleaning a round may lie that tells what it gave
AGE_BANDS = (
    (2, gettext_noop("under 2 years")),
    (5, gettext_noop("2 to 5 years")),
    (10, gettext_noop("5 to 10 years")),
    (20, gettext_noop("10 to 20 years")),
)
OLDEST = gettext_noop("20 years and more")
NOT_OPEN = gettext_noop("not open yet")
DAYS_A_YEAR = 365.25


Key = Hashable  # of a surface or a site: whatever all rows tell it by


class SurfaceRow(NamedTuple):
    """One surface. decline_percent_yr: the loss of the coming year as its forecast has it; None without tests."""

    key: Key
    owner: str
    site: Key
    surface_type: str
    area_m2: float
    opened_on: date
    removed_on: date | None
    limit_mm_h: float
    run_on_area_m2: float
    bare_soil: bool
    trees: bool
    winter_grit: bool
    traffic: int
    state: str | None
    decline_percent_yr: float | None


class RoundRow(NamedTuple):
    """A round of ring tests that count. log_rate: the mean of the natural logarithms of its rates in mm/h.

    after_cleaning: whether it was made to see what a cleaning gave, so that it follows one of the same day.
    """

    surface: Key
    on: date
    log_rate: float
    after_cleaning: bool = False


class CleaningRow(NamedTuple):
    """A cleaning that counts."""

    surface: Key
    on: date
    method: str


class Grouping(TextChoice):
    """By what the surfaces are counted."""

    TYPE = "type", "Surface type"
    OWNER = "owner", "Owner"
    AGE = "age", "Age"
    YEAR = "year", "Year of opening"


@dataclass(frozen=True, slots=True)
class StateGroup:
    """Surfaces of one group. counts, areas: by state, the worst first."""

    name: str
    counts: Mapping[SurfaceState, int]
    areas: Mapping[SurfaceState, float]

    @property
    def surfaces(self) -> int:
        """How many there are."""
        return sum(self.counts.values())

    @property
    def area_m2(self) -> float:
        """All their area."""
        return sum(self.areas.values())


def states_by(rows: Iterable[SurfaceRow], by: Grouping, today: date) -> list[StateGroup]:
    """How the surfaces in use stand, group by group: types as everywhere, owners by name, ages and years upward."""
    counts: dict[str, dict[SurfaceState, int]] = defaultdict(lambda: dict.fromkeys(WORST_FIRST, 0))
    areas: dict[str, dict[SurfaceState, float]] = defaultdict(lambda: dict.fromkeys(WORST_FIRST, 0.0))
    name_of = _namer(by, today)
    for row in rows:
        name, state = name_of(row), SurfaceState(row.state or SurfaceState.NOT_TESTED)
        counts[name][state] += 1
        areas[name][state] += row.area_m2
    return [StateGroup(name, counts[name], areas[name]) for name in _in_order(counts, by)]


def _namer(by: Grouping, today: date) -> Callable[[SurfaceRow], str]:
    """Of thousands of surfaces few are called differently: each name is looked up once."""
    type_label = cache(lambda kind: SurfaceType(kind).label)
    age = cache(lambda opened_on: age_band(opened_on, today))
    return {
        Grouping.TYPE: lambda row: type_label(row.surface_type),
        Grouping.OWNER: lambda row: row.owner,
        Grouping.AGE: lambda row: age(row.opened_on),
        Grouping.YEAR: lambda row: str(row.opened_on.year),
    }[by]


def age_band(opened_on: date, today: date) -> str:
    """The age of a surface in words."""
    years = (today - opened_on).days / DAYS_A_YEAR
    if years < 0:
        return _(NOT_OPEN)
    return _(next((words for most, words in AGE_BANDS if years < most), OLDEST))


def _in_order(names: Iterable[str], by: Grouping) -> list[str]:
    order = {
        Grouping.TYPE: [kind.label for kind in SurfaceType],
        Grouping.AGE: [_(NOT_OPEN), *(_(words) for most, words in AGE_BANDS), _(OLDEST)],
    }.get(by)
    return sorted(names, key=order.index if order else None)


def _when(row: RoundRow) -> tuple[date, bool]:
    return row.on, row.after_cleaning


@dataclass(frozen=True, slots=True)
class QuarterShare:
    """The area whose last round up to the end of a quarter lay below its limit, of all that was tested until then."""

    ends_on: date
    below_m2: float
    tested_m2: float
    surfaces: int

    @property
    def share_below(self) -> float | None:
        """As a share; None while nothing was tested."""
        return self.below_m2 / self.tested_m2 if self.tested_m2 else None

    @property
    def name(self) -> str:
        """The quarter in words."""
        quarter = (self.ends_on.month + 2) // 3
        return _("Q{quarter} {year}").format(quarter=quarter, year=self.ends_on.year)


def trend(
    surfaces: Iterable[SurfaceRow],
    rounds: Iterable[RoundRow],
    log_limits: Mapping[Key, float],
    ends: Sequence[date],
) -> list[QuarterShare]:
    """How the whole stood at the end of each quarter, by the record alone.

    Each surface stands as its last round by then found it, against the limit it has today, from its first test until it
    is removed. ends: the last days of the quarters, in order.
    """
    of_surface = by_surface(rounds)
    below, tested, count = [0.0] * len(ends), [0.0] * len(ends), [0] * len(ends)
    for surface in surfaces:
        found = of_surface.get(surface.key, ())
        for i, state in _stood(surface, found, log_limits[surface.key], ends):
            tested[i] += surface.area_m2
            count[i] += 1
            below[i] += surface.area_m2 * state
    return [QuarterShare(*parts) for parts in zip(ends, below, tested, count, strict=True)]


def _stood(
    surface: SurfaceRow, rounds: Sequence[RoundRow], log_limit: float, ends: Sequence[date]
) -> Iterable[tuple[int, bool]]:
    """Quarter by quarter whether the last round lay below the limit."""
    days = [row.on for row in rounds]
    for i, end in enumerate(ends):
        last = bisect_right(days, end) - 1
        if last >= 0 and (surface.removed_on is None or surface.removed_on > end):
            yield i, rounds[last].log_rate < log_limit


def by_surface(rounds: Iterable[RoundRow]) -> dict[Key, list[RoundRow]]:
    """The rounds of each surface, the oldest first."""
    found: dict[Key, list[RoundRow]] = defaultdict(list)
    for row in rounds:
        found[row.surface].append(row)
    for rows in found.values():
        rows.sort(key=_when)
    return found


def quarter_ends(last: date, count: int) -> list[date]:
    """The last days of so many quarters, in order; the last of them the one that `last` lies in."""
    number = last.year * 4 + (last.month - 1) // 3
    return [_day_before(number - back + 1) for back in range(count - 1, -1, -1)]


def _day_before(quarter: int) -> date:
    return date(quarter // 4, quarter % 4 * 3 + 1, 1) - timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Spread:
    """A group by its median and the middle 80 % of it. None where it is too small for either to say anything."""

    name: str
    number: int
    median: float | None = None
    low: float | None = None
    high: float | None = None


def spread_of(name: str, values: Sequence[float]) -> Spread:
    """The median and the 10th and 90th percentile, by the exclusive method, held within the values."""
    if len(values) < FEWEST:
        return Spread(name, len(values))
    tenths = quantiles(values, n=10)
    low, high = max(tenths[0], min(values)), min(tenths[-1], max(values))
    return Spread(name, len(values), median(values), low, high)


def spreads(pairs: Iterable[tuple[Hashable, float]], names: Mapping[Hashable, str]) -> list[Spread]:
    """One for each name that has values, in the order of the names."""
    values: dict[Hashable, list[float]] = defaultdict(list)
    for key, value in pairs:
        values[key].append(value)
    return [spread_of(name, values[key]) for key, name in names.items() if key in values]


def decline_by_type(rows: Iterable[SurfaceRow]) -> list[Spread]:
    """The yearly loss by surface type."""
    names: dict[Hashable, str] = {kind.value: kind.label for kind in SurfaceType}
    return spreads(((row.surface_type, loss) for row, loss in _with_loss(rows)), names)


CONDITIONS: Mapping[str, tuple[str, str]] = {
    "run_on": (gettext_noop("Ground drains on to it"), gettext_noop("Nothing drains on to it")),
    "bare_soil": (gettext_noop("Bare soil or planting above it"), gettext_noop("No bare soil")),
    "trees": (gettext_noop("Trees over it"), gettext_noop("No trees")),
    "grit": (gettext_noop("Winter grit"), gettext_noop("No winter grit")),
}


def decline_by_condition(rows: Iterable[SurfaceRow]) -> list[Spread]:
    """The yearly loss with and without each condition, one after the other, and by traffic."""
    pairs: list[tuple[Hashable, float]] = []
    for row, loss in _with_loss(rows):
        pairs += (
            (("run_on", row.run_on_area_m2 > 0), loss),
            (("bare_soil", row.bare_soil), loss),
            (("trees", row.trees), loss),
            (("grit", row.winter_grit), loss),
            (row.traffic, loss),
        )
    names: dict[Hashable, str] = {}
    for name, (with_it, without) in CONDITIONS.items():
        names |= {(name, True): _(with_it), (name, False): _(without)}
    names |= {
        kind.value: _("Traffic: {kind}").format(kind=f"{kind.label[:1].lower()}{kind.label[1:]}")
        for kind in Traffic
    }
    return spreads(pairs, names)


def _with_loss(rows: Iterable[SurfaceRow]) -> list[tuple[SurfaceRow, float]]:
    """Tested surfaces with the loss of their forecast."""
    return [
        (row, row.decline_percent_yr)
        for row in rows
        if row.decline_percent_yr is not None and row.state not in (None, SurfaceState.NOT_TESTED)
    ]


def gains_by_method(cleanings: Iterable[CleaningRow], rounds: Iterable[RoundRow]) -> list[Spread]:
    """By how much rates rose with a cleaning, as natural logarithms, by method.

    Of each cleaning the last round before it, or on its day, and the first after it, where both lie within four months
    of it and no other cleaning lies between them.
    """
    of_surface = by_surface(rounds)
    days = _cleaning_days(cleanings := list(cleanings))
    pairs = ((row.method, gain) for row in cleanings if (gain := _gain(row, of_surface, days)) is not None)
    return spreads(pairs, {kind.value: kind.label for kind in CleaningMethod})


def _cleaning_days(cleanings: Iterable[CleaningRow]) -> dict[Key, list[date]]:
    found: dict[Key, list[date]] = defaultdict(list)
    for row in cleanings:
        found[row.surface].append(row.on)
    return {surface: sorted(on) for surface, on in found.items()}


def _gain(
    cleaning: CleaningRow,
    of_surface: Mapping[Key, Sequence[RoundRow]],
    cleaned: Mapping[Key, Sequence[date]],
) -> float | None:
    rounds = of_surface.get(cleaning.surface, ())
    after = bisect_right(rounds, (cleaning.on, False), key=_when)
    if after in (0, len(rounds)):
        return None
    before, then = rounds[after - 1], rounds[after]
    if cleaning.on - before.on > BESIDE or then.on - cleaning.on > BESIDE:
        return None
    alone = _cleanings_between(cleaned[cleaning.surface], before, then) == 1
    return then.log_rate - before.log_rate if alone else None


def _cleanings_between(days: Sequence[date], before: RoundRow, then: RoundRow) -> int:
    first = (bisect_right if before.after_cleaning else bisect_left)(days, before.on)
    last = (bisect_right if then.after_cleaning else bisect_left)(days, then.on)
    return last - first


class DueCount(NamedTuple):
    """What of a kind is due. late: its day has passed; soon: within 30 days; later: after that."""

    name: str
    late: int
    soon: int
    later: int
    planned: int
