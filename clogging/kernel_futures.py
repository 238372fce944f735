"""What `futures` does to many surfaces, compiled for one: every line is one of `futures` or `decline`.

`futures` is the reference that these must equal. They are parts for whoever compiles a way of care that is carried out
step by step, where a call of numpy for so few numbers costs more than its work.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from . import priors
from .kernel import part, seldom
from .types import CLEANING_METHODS, RENEWING_METHODS

SEALED = math.log(priors.SEALED_MM_H)
_LEAST_VAR = 1e-12  # as in `futures`
_STEEPEST = 60.0  # as in `decline`
_ROOT_HALF = math.sqrt(0.5)
_RENEWS = tuple(method in RENEWING_METHODS for method in CLEANING_METHODS)


class State(NamedTuple):
    """True log rate, the same as new, and decline of a surface."""

    x: float
    b: float
    lam: float


class Belief(NamedTuple):
    """What is known of a surface: means of x, b and lam, then their covariance."""

    x: float
    b: float
    lam: float
    xx: float
    xb: float
    xl: float
    bb: float
    bl: float
    ll: float


class Passing(NamedTuple):
    """A span of time, as `decline.Passage` of one surface."""

    keep: float
    fall: float
    sink: float
    noise: float


class Renewal(NamedTuple):
    """What a cleaning gives: share of the lost log rate, how well that is known, sd just after; the rate as new."""

    share: float
    share_sd: float
    scatter: float
    new: float
    new_sd: float


@part
def span_of_years(kappa: float, gamma: float, drift_var: float, years: float) -> Passing:
    """As `decline.passage`, of one surface."""
    z = min(max(kappa * years, -_STEEPEST), _STEEPEST)
    lost = math.expm1(-z)
    open_years = years * (1.0 if z == 0.0 else -lost / z)
    sink = gamma * years
    return Passing(
        1.0 + lost, sink + (1.0 - gamma) * open_years, sink, drift_var * open_years * (1.0 + 0.5 * lost)
    )


@seldom
def span_from_above(
    kappa: float, gamma: float, drift_var: float, years: float, above: float, lam: float
) -> Passing:
    """As `decline.passage_ahead`, of a surface read faster than as new whose decline speeds up with the loss."""
    slide = (1.0 - gamma) * lam
    even = min(years, above / slide) if slide > 0.0 else years
    first = span_of_years(0.0, gamma, drift_var, even)
    second = span_of_years(kappa, gamma, drift_var, years - even)
    return Passing(
        second.keep * first.keep,
        second.keep * first.fall + (1.0 - second.keep) * first.sink + second.fall,
        first.sink + second.sink,
        second.keep * second.keep * first.noise + second.noise,
    )


@part
def moved(known: Belief, span: Passing) -> Belief:
    """As `futures.let_pass` over a span."""
    keep, onto, fall, sink = span.keep, 1.0 - span.keep, span.fall, span.sink
    x = keep * known.x + onto * known.b - fall * known.lam
    lead_x = keep * known.xx + onto * known.xb - fall * known.xl
    lead_b = keep * known.xb + onto * known.bb - fall * known.bl
    lead_l = keep * known.xl + onto * known.bl - fall * known.ll
    sunk_b = known.bb - sink * known.bl
    sunk_l = known.bl - sink * known.ll
    return Belief(
        max(x, SEALED),
        known.b - sink * known.lam,
        known.lam,
        keep * lead_x + onto * lead_b - fall * lead_l + span.noise,
        lead_b - sink * lead_l,
        lead_l,
        sunk_b - sink * sunk_l,
        sunk_l,
        known.ll,
    )


@part
def truly_moved(true: State, span: Passing, luck: float) -> State:
    """As `futures.let_pass_truly` over a span."""
    noise = math.sqrt(max(span.noise, 0.0)) * luck
    x = span.keep * true.x + (1.0 - span.keep) * true.b - span.fall * true.lam + noise
    return State(max(x, SEALED), true.b - span.sink * true.lam, true.lam)


@part
def cleaned(known: Belief, method: int, by: Renewal) -> Belief:
    """As `futures.cleaned`."""
    b, xb, bb, bl = known.b, known.xb, known.bb, known.bl
    if _RENEWS[method]:
        b, xb, bb, bl = by.new, 0.0, by.new_sd * by.new_sd, 0.0
    share, rest, lost = by.share, 1.0 - by.share, b - known.x
    lost_var = known.xx - 2.0 * xb + bb
    lead_b = rest * xb + share * bb
    return Belief(
        known.x + share * lost,
        b,
        known.lam,
        rest * (rest * known.xx + share * xb)
        + share * lead_b
        + (by.scatter * by.scatter + by.share_sd * by.share_sd * (lost * lost + lost_var)),
        lead_b,
        rest * known.xl + share * bl,
        bb,
        bl,
        known.ll,
    )


@part
def truly_cleaned(true: State, method: int, by: Renewal, new_luck: float, luck: float) -> State:
    """As `futures.cleaned_truly`."""
    b = by.new + by.new_sd * new_luck if _RENEWS[method] else true.b
    return State(true.x + by.share * (b - true.x) + by.scatter * luck, b, true.lam)


@part
def tested(known: Belief, mean_log: float, noise_var: float) -> Belief:
    """As `futures.tested`; noise_var: of the mean log result about the log rate."""
    total, surprise = known.xx + noise_var, mean_log - known.x
    by_x, by_b, by_l = known.xx / total, known.xb / total, known.xl / total
    return Belief(
        known.x + by_x * surprise,
        known.b + by_b * surprise,
        known.lam + by_l * surprise,
        known.xx - by_x * known.xx,
        known.xb - by_x * known.xb,
        known.xl - by_x * known.xl,
        known.bb - by_b * known.xb,
        known.bl - by_b * known.xl,
        known.ll - by_l * known.xl,
    )


@part
def source_stopped(known: Belief, factor: float, sd: float) -> Belief:
    """As `futures.source_stopped`."""
    return Belief(
        known.x,
        known.b,
        known.lam * factor,
        known.xx,
        known.xb,
        known.xl * factor,
        known.bb,
        known.bl * factor,
        known.ll * factor * factor + sd * sd,
    )


@part
def sd_of(known: Belief) -> float:
    """Of the log rate."""
    return math.sqrt(max(known.xx, _LEAST_VAR))


@part
def chance_below(known: Belief, log_limit: float) -> float:
    """Of being below a limit now."""
    return 0.5 * math.erfc((known.x - log_limit) / sd_of(known) * _ROOT_HALF)
