"""What it is worth to stop a source of sediment, or what a new one costs, for one surface."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from .fitting import PortfolioFit
from .forecast import (
    Curve,
    chance_below,
    check_dates,
    first_reach,
    percent_lost,
    to_curve,
    yearly_loss,
)
from .mixture import lower_quantiles, quantiles_of_all
from .packing import Floats
from .trajectory import Run, State, change_source, last_state, move, run_surface, ways_ahead
from .types import SOURCE_CHANGES, Estimate, SurfaceHistory


class Course(NamedTuple):
    """What a surface does from one day on, nothing done to its joints.

    decline_percent_a_year: loss over the coming year; t_p10_yr, t_p50_yr, t_p90_yr: first dates, in years since
    opening, at which the chance of being below the limit reaches 10, 50, 90 %; None when not within the horizon
    p_below: (T,) at the dates of `future`
    """

    decline_percent_a_year: Estimate
    t_p10_yr: float | None
    t_p50_yr: float | None
    t_p90_yr: float | None
    future: Curve
    p_below: Floats


class _Way(NamedTuple):
    """The last thing known of a surface and what that says of now."""

    known: State
    now: State


class SourceOutlook(NamedTuple):
    """A change of source at at_yr: the course without it and with it.

    years_gained: how much later the chance of being below the limit reaches 50 %, below 0 for a new source; None
        when it is not reached within the horizon on either course, and counted to the horizon on the course that
        does not reach it (`at_least` is True then)
    """

    kind: str
    at_yr: float
    without: Course
    with_change: Course
    years_gained: float | None
    at_least: bool


def _courses(run: Run, ways: Sequence[_Way], dates: Floats, limit_mm_h: float) -> list[Course]:
    """The courses from now on, and the ranges as far as the last thing known allows."""
    n, aheads = len(ways), [ways_ahead(run, way.known, dates) for way in ways]
    falling = [ahead.falling for ahead in aheads] + [yearly_loss(way.now, run.pace) for way in ways]
    found, courses = quantiles_of_all(falling), []
    for ahead, log_rates, loss in zip(aheads, found[:n], found[n:], strict=True):
        future, p_below = (
            to_curve(dates, lower_quantiles(log_rates, ahead.kept)),
            chance_below(ahead, limit_mm_h),
        )
        t_p10, t_p50, t_p90 = (first_reach(dates, p_below, level) for level in (0.1, 0.5, 0.9))
        courses.append(Course(percent_lost(loss), t_p10, t_p50, t_p90, future, p_below))
    return courses


def after_source_change(
    history: SurfaceHistory,
    fit: PortfolioFit,
    *,
    at_yr: float,
    kind: str,
    limit_mm_h: float,
    horizon_yr: float = 10.0,
    n_dates: int = 61,
) -> SourceOutlook:
    """What stopping a source of sediment ("stopped") is worth, or what a new one ("started") costs.

    at_yr: not before the last event. Raises ValueError for an unknown kind or dates that cannot be.
    """
    check_dates(history, at_yr, limit_mm_h, horizon_yr)
    if kind not in SOURCE_CHANGES:
        raise ValueError(f"Unknown change of source {kind!r}; use one of {', '.join(SOURCE_CHANGES)}.")
    run = run_surface(history, fit.draws)
    known = last_state(run)
    now = move(run, known, at_yr)
    after = change_source(now, run, kind)
    end = at_yr + horizon_yr
    dates = np.linspace(at_yr, end, max(n_dates, 2))
    ways = (_Way(known, now), _Way(after, after))
    without, changed = _courses(run, ways, dates, limit_mm_h)
    likely = (without.t_p50_yr, changed.t_p50_yr)
    first, second = (end if date is None else date for date in likely)
    gained = None if likely == (None, None) else second - first
    return SourceOutlook(kind, at_yr, without, changed, gained, None in likely and gained is not None)
