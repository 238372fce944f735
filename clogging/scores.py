"""How good a forecast was, and what people do without a model.

Sources: Gneiting & Raftery (2007), J. Am. Stat. Assoc. 102:359-378 (log score, CRPS); Dawid (1984), J. R. Stat.
Soc. A 147:278-292 (probability integral transform).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log
from typing import NamedTuple, Protocol

import numpy as np
import scipy  # stats is loaded when first named
from scipy.special import logsumexp, ndtr

from core.calc.translation import gettext_noop

from . import priors
from .packing import Floats
from .types import CleaningEvent, RoundEvent, SurfaceHistory

_LOG_2PI = float(np.log(2.0 * np.pi))


def log_score(value: Floats, mean: Floats, sd: Floats) -> Floats:
    """Log density (S,) of values (S,) under equal-weight mixtures of normals (S, M); higher is better."""
    away = (value[:, None] - mean) / sd
    return logsumexp(-0.5 * (away**2 + _LOG_2PI) - np.log(sd), axis=1) - np.log(mean.shape[1])


def crps(value: Floats, mean: Floats, sd: Floats) -> Floats:
    """Continuous ranked probability score (S,), lower is better, in the unit of the values.

    E|X - y| - E|X - X'| / 2 in closed form for mixtures of normals: Grimit et al. (2006), Q. J. R. Meteorol.
    Soc. 132:2925-2942, eq. (5).
    """

    def mean_size(m: Floats, s: Floats) -> Floats:
        away = m / s
        return 2.0 * s * np.exp(-0.5 * away**2) / np.sqrt(2.0 * np.pi) + m * (2.0 * ndtr(away) - 1.0)

    first = mean_size(value[:, None] - mean, sd).mean(1)
    between = mean[:, :, None] - mean[:, None, :]
    return first - 0.5 * mean_size(between, np.hypot(sd[:, :, None], sd[:, None, :])).mean((1, 2))


def pit(value: Floats, mean: Floats, sd: Floats) -> Floats:
    """Chance (S,) of a value below the one found, under mixtures (S, M); uniform when forecasts are honest."""
    return ndtr((value[:, None] - mean) / sd).mean(1)


def coverage(pits: Floats, level: float) -> float:
    """Share of values inside the central range of the given name (0.8 for 80 %)."""
    return float((np.abs(pits - 0.5) <= 0.5 * level).mean())


def uniform_band(n: int, level: float = 0.95) -> float:
    """How far the empirical distribution of n honest PITs strays from the diagonal at most, level of the time.

    Kolmogorov's statistic, exact for every n.
    """
    return float(scipy.stats.kstwo.ppf(level, n))


def distance_from_uniform(pits: Floats) -> float:
    """Greatest distance of the empirical distribution of the PITs from the diagonal."""
    ordered, n = np.sort(pits), len(pits)
    return float(np.max(np.maximum(np.arange(1, n + 1) / n - ordered, ordered - np.arange(n) / n)))


class Past(NamedTuple):
    """One surface's own rounds: dates and mean log rates (n,), and the date of its last cleaning (0 if none)."""

    surface_type: str
    t_yr: Floats
    log_rate: Floats
    cleaned_yr: float


def past_rounds(history: SurfaceHistory) -> Past:
    """The rounds of a history as a person with a spreadsheet would note them: bounds as if they were readings."""
    rounds = [event for event in history.events if isinstance(event, RoundEvent)]
    cleaned = [event.t_yr for event in history.events if isinstance(event, CleaningEvent)]
    means = [sum(log(test.rate_mm_h) for test in event.tests) / len(event.tests) for event in rounds]
    return Past(
        history.surface_type, np.array([e.t_yr for e in rounds]), np.array(means), max(cleaned, default=0.0)
    )


def straight_line(past: Past, t_yr: float) -> float:
    """A straight line through the surface's own log rates, carried on; the last value with fewer than two."""
    if len(past.t_yr) < 2 or np.ptp(past.t_yr) == 0.0:
        return last_value(past, t_yr)
    slope, level = np.polyfit(past.t_yr, past.log_rate, 1)
    return float(level + slope * t_yr)


def last_value(past: Past, t_yr: float) -> float:
    """The last value carried forward."""
    return float(past.log_rate[-1])


def fixed_interval(past: Past, t_yr: float, interval_yr: float = 5.0, limit_mm_h: float = 250.0) -> float:
    """As a fixed cleaning interval has it: as new after each cleaning, at the limit when the next one is due."""
    new = log(priors.SURFACES[past.surface_type].as_new_mm_h)
    return new - max(new - log(limit_mm_h), 0.0) * (t_yr - past.cleaned_yr) / interval_yr


NAIVE = {
    gettext_noop("straight line"): straight_line,
    gettext_noop("last value"): last_value,
    gettext_noop("fixed interval"): fixed_interval,
}


def fleet_mean(histories: Sequence[SurfaceHistory]) -> tuple[Floats, Floats]:
    """Mean and sd (S, 1): every surface is expected to show what the latest rounds of all show, give or take."""
    latest = np.array([past_rounds(history).log_rate[-1] for history in histories])
    spread = float(latest.std(ddof=1)) if len(latest) > 1 else 1.0
    return np.full((len(latest), 1), latest.mean()), np.full((len(latest), 1), max(spread, 0.05))


def brier(chance: Floats, came: Floats) -> Floats:
    """Squared miss of chances of an event (Brier 1950, Mon. Weather Rev. 78:1-3); lower is better."""
    return (chance - came) ** 2


def naive_forecast(rule: str, histories: Sequence[SurfaceHistory], t_yr: Floats) -> tuple[Floats, Floats]:
    """Mean and sd (S, 1) of each surface's next mean log rate by one of NAIVE.

    The sd is what the rule missed by when it foretold each surface's latest round from the ones before, over
    the whole portfolio: more than its users would have, and the same for all.
    """
    pasts = [past_rounds(history) for history in histories]
    misses = [
        past.log_rate[-1]
        - NAIVE[rule](past._replace(t_yr=past.t_yr[:-1], log_rate=past.log_rate[:-1]), float(past.t_yr[-1]))
        for past in pasts
        if len(past.t_yr) > 1
    ]
    sd = float(np.sqrt(np.mean(np.square(misses)))) if misses else 1.0
    means = np.array([NAIVE[rule](past, float(t)) for past, t in zip(pasts, t_yr, strict=True)])
    return means[:, None], np.full((len(pasts), 1), sd)


class Calibration(NamedTuple):
    """Whether past forecasts can be trusted, over many rounds.

    n: rounds of readings used (rounds with inequalities have no single probability and are left out)
    pits: (n,) in ascending order; inside: share of rounds in the range of each name
    distance, band: how far the PITs stray from uniform, and how far honest ones stray at most, 95 % of the time
    """

    n: int
    pits: Floats
    inside: dict[float, float]
    distance: float
    band: float

    @property
    def honest(self) -> bool:
        return self.distance <= self.band


LEVELS = (0.5, 0.8, 0.9, 0.95)


class PlacedRound(Protocol):
    """A round in the forecast made before it, such as a `hindcast.RoundCheck`: chance of a lower result."""

    @property
    def pit_lo(self) -> float: ...
    @property
    def pit_hi(self) -> float: ...


def calibration(checks: Iterable[PlacedRound], levels: Sequence[float] = LEVELS) -> Calibration | None:
    """Judge the forecasts made before past rounds of any number of surfaces; None without a round of readings.

    The portfolio parameters behind the checks have seen the rounds too, which flatters very small portfolios a little.
    """
    return calibration_of([check.pit_lo for check in checks if check.pit_lo == check.pit_hi], levels)


def calibration_of(pits: Sequence[float] | Floats, levels: Sequence[float] = LEVELS) -> Calibration | None:
    """The same from the PITs of rounds of readings alone."""
    ordered = np.sort(np.asarray(pits, dtype=float))
    if not ordered.size:
        return None
    inside = {level: coverage(ordered, level) for level in levels}
    return Calibration(
        ordered.size, ordered, inside, distance_from_uniform(ordered), uniform_band(ordered.size)
    )
