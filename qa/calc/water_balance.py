"""Where the rain of a period went on a surface: into the ground, into the store for irrigation, off it, or lost before.

An estimate for a report, not a design: every step is a mass balance, and what nobody measured stands as an assumption
with a low and a high value.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import exp, log
from typing import NamedTuple

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.numbers import short
from qa.calc.rain import Reservoir, StoneStore
from qa.calc.rain_record import Fall, Span, without

SHOWER_APART_H = 6.0  # dry for so long, a surface is wetted anew; common practice, no source
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Assumed:
    """What nobody measured, for one reckoning.

    run_off_share: of the rain on the ground that drains on to the surface, what reaches it (runoff coefficient).
    wetting_mm: of each shower, what only wets the ground and dries off again.
    rain_within_h: hours in which the rain of a record's row fell, where the row stands for more than that.
    reuse_lasts_h: hours in which irrigation empties a full store.
    """

    run_off_share: float
    wetting_mm: float
    rain_within_h: float
    reuse_lasts_h: float


# Common practice, no source: they bracket paved ground and roofs, smooth and rough.
LEAST = Assumed(run_off_share=0.7, wetting_mm=2.0, rain_within_h=2.0, reuse_lasts_h=14 * 24.0)
MIDDLE = Assumed(run_off_share=0.85, wetting_mm=1.0, rain_within_h=6.0, reuse_lasts_h=7 * 24.0)
MOST = Assumed(run_off_share=0.95, wetting_mm=0.5, rain_within_h=24.0, reuse_lasts_h=3 * 24.0)


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Where the water went, in mm over the paved area; the parts add up to what came.

    came: rain on the surface and what ran on to it. lost: wetted the ground. ran_off: what the surface did not take, or
    what rose out of the stone and no store kept. ground: soaked into the soil. kept: led to the store for irrigation.
    standing: in the stone at the end.
    """

    came: float
    lost: float
    ran_off: float
    ground: float
    kept: float
    standing: float

    @property
    def off_mm(self) -> float:
        """What the parts miss of the whole: nothing but the last digits of the arithmetic."""
        return self.came - self.lost - self.ran_off - self.ground - self.kept - self.standing


class RainRow(NamedTuple):
    """Rain of a record, its beginning in hours from an instant that all of them share. lasts_h: more than 0."""

    begins_h: float
    lasts_h: float
    depth_mm: float


def rows_of(falls: Iterable[Fall], start: datetime) -> list[RainRow]:
    """Falls in hours from an instant."""
    return [
        RainRow((fall.span.begins - start) / HOUR, (fall.span.ends - fall.span.begins) / HOUR, fall.depth_mm)
        for fall in falls
    ]


@dataclass(frozen=True, slots=True)
class RateOverTime:
    """What the surface takes in, by hour: logarithms run straight between those given. rates: mm/h, more than 0."""

    at_h: Sequence[float]
    rates_mm_h: Sequence[float]

    def __call__(self, at_h: float) -> float:
        """The rate at an hour; before the first and after the last it is theirs."""
        after = bisect_right(self.at_h, at_h)
        if after in (0, len(self.at_h)):
            return self.rates_mm_h[min(after, len(self.at_h) - 1)]
        begins, ends = self.at_h[after - 1], self.at_h[after]
        share = (at_h - begins) / (ends - begins)
        low, high = self.rates_mm_h[after - 1], self.rates_mm_h[after]
        return exp(log(low) * (1 - share) + log(high) * share)


def clipped(falls: Iterable[Fall], within: Span) -> list[Fall]:
    """The part of each fall that lies in a span, its rain taken as even."""
    found = []
    for fall in falls:
        begins, ends = max(fall.span.begins, within.begins), min(fall.span.ends, within.ends)
        if begins < ends:
            share = (ends - begins) / (fall.span.ends - fall.span.begins)
            found.append(Fall(Span(begins, ends), fall.depth_mm * share))
    return sorted(found)


def covered_days(covers: Iterable[Span], within: Span) -> float:
    """How many days of a span a record tells of."""
    missed = sum((gap.ends - gap.begins for gap in without([within], covers)), timedelta())
    return (within.ends - within.begins - missed) / timedelta(days=1)


def by_the_hour(falls: Iterable[Fall]) -> list[Fall]:
    """Rows of a few minutes gathered into hours, so that a long record stays quick. The depth stays the same."""
    found: list[Fall] = []
    for fall in falls:
        long = fall.span.ends - fall.span.begins >= HOUR
        if not long and found and fall.span.ends - found[-1].span.begins <= HOUR:
            last = found[-1]
            found[-1] = Fall(Span(last.span.begins, fall.span.ends), last.depth_mm + fall.depth_mm)
        else:
            found.append(fall)
    return found


def water_balance(
    rows: Sequence[RainRow],
    run_on_ratio: float,
    store: Reservoir,
    assumed: Assumed,
    rate_at: RateOverTime | None = None,
    ends_h: float | None = None,
) -> WaterBalance:
    """The balance over a period that begins with empty stone.

    rows: in order of time, of the covered part of the period. run_on_ratio: area that drains on to the surface over
    its own. rate_at: what the surface takes in; None where `store` says it. ends_h: of the period; None: with the last
    rain.

    Source: mass balance, step by step as in `qa.calc.rain`. Raises ImpossibleRecordError for what cannot be.
    """
    _refuse_bad(run_on_ratio, assumed)
    reckoning = _Reckoning(run_on_ratio, store, assumed)
    if rate_at is not None and min(rate_at.rates_mm_h) < reckoning.fastest_mm_h(rows):
        reckoning.rate_at = rate_at  # else it takes all that comes, on the slowest day as well
    return reckoning.of(rows, ends_h)


def _refuse_bad(run_on_ratio: float, assumed: Assumed) -> None:
    require_not_negative(gettext_noop("Run-on ratio"), run_on_ratio, "")
    require_not_negative(gettext_noop("Share that runs off"), assumed.run_off_share, "")
    require_not_negative(gettext_noop("Rain that wets the ground"), assumed.wetting_mm, "mm")
    require_positive(
        gettext_noop("Time of the rain"),
        assumed.rain_within_h,
        "h",
        gettext_noop("Enter the hours in which it fell."),
    )
    require_positive(
        gettext_noop("Time to empty the store"),
        assumed.reuse_lasts_h,
        "h",
        gettext_noop("Enter how long a full one lasts."),
    )
    if assumed.run_off_share > 1:
        raise ImpossibleRecordError(
            _("A share of {share} runs off, but no more than all of it can. Give 0 to 1.").format(
                share=short(assumed.run_off_share)
            )
        )


class _Reckoning:
    """One run through a record.

    It goes through thousands of rows for each surface of a report, so what it would else ask of objects row by row it
    keeps at hand, and takes no step through dry hours while the stone is empty.
    """

    def __init__(self, run_on_ratio: float, store: Reservoir, assumed: Assumed) -> None:
        self.stone, self.assumed = StoneStore(store), assumed
        self.rate_at: RateOverTime | None = None
        self.gathers = 1 + assumed.run_off_share * run_on_ratio
        self.kept = self.reuse_level = 0.0

    def fastest_mm_h(self, rows: Iterable[RainRow]) -> float:
        """The most that comes in an hour."""
        within_h = self.assumed.rain_within_h
        fastest = max(
            (depth / (lasts if lasts < within_h else within_h) for _, lasts, depth in rows), default=0.0
        )
        return fastest * self.gathers

    def of(self, rows: Sequence[RainRow], ends_h: float | None) -> WaterBalance:
        """Through all of it."""
        within_h, wetting_mm, gathers = self.assumed.rain_within_h, self.assumed.wetting_mm, self.gathers
        stone, at_h = self.stone, None
        came = lost = to_wet = 0.0
        for begins_h, row_lasts_h, depth_mm in rows:
            lasts_h = row_lasts_h if row_lasts_h < within_h else within_h
            if at_h is None or begins_h - at_h >= SHOWER_APART_H:
                to_wet = wetting_mm
            # A shower that comes while the last row's rain is still falling, by the assumption, finds no dry time.
            if at_h is not None and begins_h > at_h:
                self._dry(begins_h - at_h)
            wetting = to_wet if to_wet < depth_mm else depth_mm
            to_wet -= wetting
            came += depth_mm
            lost += wetting
            self._rain(begins_h, lasts_h, (depth_mm - wetting) * gathers / lasts_h)
            over_h = begins_h + lasts_h
            at_h = over_h if at_h is None or over_h > at_h else at_h
        if at_h is not None and ends_h is not None and ends_h > at_h:
            self._dry(ends_h - at_h)
        return WaterBalance(
            came=came * gathers,
            lost=lost * gathers,
            ran_off=stone.shed + stone.risen_out - self.kept,
            ground=stone.soaked,
            kept=self.kept,
            standing=stone.level,
        )

    def _dry(self, hours: float) -> None:
        if self.stone.level:  # in empty stone dry hours change nothing
            self.stone.take(hours, 0.0)
        if self.reuse_level:
            self._irrigate(hours)

    def _rain(self, begins_h: float, lasts_h: float, inflow_mm_h: float) -> None:
        stone = self.stone
        if self.rate_at is not None:
            stone.takes_mm_h = self.rate_at(begins_h)
        risen_before = stone.risen_out
        stone.take(lasts_h, inflow_mm_h)
        if stone.risen_out > risen_before and stone.store.has_pipe:
            self._keep(stone.risen_out - risen_before)
        if self.reuse_level:
            self._irrigate(lasts_h)

    def _keep(self, piped_mm: float) -> None:
        kept = min(piped_mm, self.stone.store.reuse_mm - self.reuse_level)
        self.reuse_level += kept
        self.kept += kept

    def _irrigate(self, hours: float) -> None:
        drawn = self.stone.store.reuse_mm * hours / self.assumed.reuse_lasts_h
        self.reuse_level = max(0.0, self.reuse_level - drawn)
