"""The way back through `kernel`: the gradient of the log-likelihood of many surfaces, compiled.

Every line is one of `gradient`, a surface at a time, the last step first. `m` and `P` name the derivatives by the mean
and the covariance. Derivatives by parameters are added up as they arise, in the layout of the parameters themselves.
"""

from __future__ import annotations

import math

import numpy as np

from .blocks import OFFSETS_AT
from .kernel import (
    _BETA,
    _CLEANING,
    _CODE,
    _CORR,
    _DAY,
    _DRIFT,
    _E,
    _FACTOR,
    _GAMMA,
    _INNOVATION,
    _INV_N,
    _K,
    _KAPPA,
    _KEEP,
    _LOCATION_SHARE,
    _LOG_2PI,
    _MEAN_DECAY,
    _METHOD,
    _MU_B,
    _MU_LAM,
    _NAMED,
    _OFFSET,
    _OPEN,
    _REGAIN,
    _RESET,
    _RHO,
    _SD_CLEAN,
    _SD_DAY,
    _SD_SOURCE,
    _SD_SPOT,
    _SHARE,
    _SOURCE,
    _STEEPEST,
    _T,
    _TAU_B,
    _TAU_LAM,
    _VARIANCE,
    _WET,
    _WET_LOSS,
    _Y,
    _YEARS,
    Spread,
    Surfaces,
    Trail,
    added_up,
    advance,
    change_of,
    cleaned,
    compiled,
    draw_day,
    make_change,
    mean_decay_slope,
    part,
    reading_var,
    reads,
    seldom,
    span_of,
    spread_of_tests,
    start,
    take_in,
    trail_for,
    within,
)
from .packing import BELOW, EXACT, Floats, Ints

_SPOT_VAR, _LOCATED, _NAMED_VAR, _FIXED_WITHIN = range(4)  # sums that only at the end become derivatives


@part
def _move_on(
    rows: Floats, r: int, j: int, kind: int, p: Floats, years: float, states: int, trail: Trail
) -> None:
    """From after step j - 1 to before the reading of step j, leaving a trail."""
    n = trail.numbers
    for i in range(states):
        trail.mean[j, i] = trail.after_mean[j, i]
        for k in range(states):
            trail.cov[j, i, k] = trail.after_cov[j, i, k]
    mean, cov = trail.mean[j], trail.cov[j]
    keep, fall, sink, noise, n[j, _OPEN], n[j, _MEAN_DECAY] = span_of(p, p[_KAPPA + kind], years)
    regain, added, changes = cleaned(rows, r, p)
    n[j, _KEEP], n[j, _YEARS], n[j, _REGAIN] = keep, years, regain
    left, pulled, scatter = (1.0, 0.0, 0.0) if changes else (1.0 - regain, regain, added)
    advance(states, mean, cov, left * keep, -left * fall - pulled * sink, sink, scatter + left**2 * noise)
    if changes:
        trail.moved_mean[j] = mean
        trail.moved_cov[j] = cov
        make_change(rows, r, kind, p, regain, added, states, mean, cov)
    if rows[r, _RESET] > 0.0:
        draw_day(p, states, mean, cov)


@part
def _read(rows: Floats, r: int, j: int, p: Floats, states: int, trail: Trail) -> float:
    """Take in the reading of step j, leaving a trail; its log-likelihood."""
    n, code = trail.numbers, rows[r, _CODE]
    e = k = loglik = 0.0
    if code > 0.0:
        var, level = added_up(rows, r, states, trail.cov[j], trail.mean[j], trail.across[j])
        var += reading_var(rows, r, p)
        innovation = rows[r, _Y] - p[_OFFSET + int(rows[r, _METHOD])] - level
        e, k, loglik = take_in(code, innovation, var)
        if code == EXACT:
            loglik = -0.5 * (_LOG_2PI + math.log(var) + e * innovation)
        n[j, _INNOVATION], n[j, _VARIANCE] = innovation, var
    n[j, _E], n[j, _K] = e, k
    for a in range(states):
        taken = trail.across[j, a] * k
        trail.after_mean[j + 1, a] = trail.mean[j, a] + trail.across[j, a] * e
        for b in range(states):
            trail.after_cov[j + 1, a, b] = trail.cov[j, a, b] - taken * trail.across[j, b]
    return loglik


@part
def _pull(
    code: float, v: float, var: float, e: float, k: float, e_bar: float, k_bar: float
) -> tuple[float, float]:
    """Derivatives by the innovation and its variance: `gradient._pull_exact` and `gradient._pull_bounded`."""
    if code == EXACT:
        return e_bar * k - e, (-e_bar * e - k_bar * k - 0.5 + 0.5 * v * e) * k
    sign = 1.0 if code == BELOW else -1.0
    sd = math.sqrt(var)
    alpha, hazard, missing = sign * v / sd, -sign * e * sd, k * var
    by_alpha = (
        hazard + e_bar * sign * missing / sd + k_bar * (hazard - missing * (2.0 * hazard + alpha)) / var
    )
    return by_alpha * sign / sd, -(0.5 * e_bar * e + k_bar * k + 0.5 * by_alpha * alpha) / var


@part
def _back_through_reading(
    rows: Floats, r: int, j: int, p: Floats, states: int, trail: Trail, g: Floats, sums: Floats
) -> None:
    code, n = rows[r, _CODE], trail.numbers
    if code <= 0.0:
        return
    m, P, spare = trail.m, trail.P, trail.spare
    e, k, e_bar, k_bar = n[j, _E], n[j, _K], 0.0, 0.0
    for a in range(states):
        p_across = 0.0
        for b in range(states):
            p_across += P[a, b] * trail.across[j, b]
        e_bar += m[a] * trail.across[j, a]
        k_bar -= trail.across[j, a] * p_across
        spare[0, a] = 0.5 * (m[a] * e - 2.0 * k * p_across)
    by_innovation, by_var = _pull(code, n[j, _INNOVATION], n[j, _VARIANCE], e, k, e_bar, k_bar)
    slots, used = reads(rows, r, states), 1 if states == OFFSETS_AT else 4
    for i in range(used):
        if slots[i] >= 0:
            spare[0, slots[i]] += 0.5 * by_var
            m[slots[i]] -= by_innovation
    for i in range(used):
        if slots[i] >= 0:
            for a in range(states):
                P[slots[i], a] += spare[0, a]
            for a in range(states):
                P[a, slots[i]] += spare[0, a]
    g[_OFFSET + int(rows[r, _METHOD])] -= by_innovation
    g[_SD_DAY] += 2.0 * p[_SD_DAY] * rows[r, _DAY] * by_var
    sums[_SPOT_VAR] += by_var * rows[r, _INV_N]
    sums[_NAMED_VAR] += by_var * rows[r, _INV_N] * rows[r, _NAMED]


@seldom
def _back_through_day(p: Floats, states: int, m: Floats, P: Floats, g: Floats) -> None:
    last = states - 1
    g[_SD_DAY] += 2.0 * p[_SD_DAY] * P[last, last]
    m[last] = 0.0
    for i in range(states):
        P[last, i] = P[i, last] = 0.0


@seldom
def _back_through_change(
    rows: Floats, r: int, j: int, kind: int, p: Floats, states: int, trail: Trail, g: Floats
) -> tuple[float, float]:
    """Update m and P in place to before the change; derivatives by what is given back and by the variance it adds."""
    m, P, regain, share = trail.m, trail.P, trail.numbers[j, _REGAIN], rows[r, _SHARE]
    scale, bar = change_of(rows, r, p, regain), trail.spare[1]
    for i in range(3):
        bar[i] = m[i] * trail.moved_mean[j, i]
        for d in range(states):
            bar[i] += 2.0 * P[i, d] * trail.moved_cov[j, i, d] * (scale[d] if d < 3 else 1.0)
    xx, xb, bb, tau = P[0, 0], P[0, 1] + P[1, 0], P[1, 1], p[_TAU_B]
    by_regain = -bar[0] + p[_MU_B + kind] * m[0] + tau**2 * (2.0 * regain * xx + share * xb)
    g[_MU_B + kind] += regain * m[0] + share * m[1]
    g[_TAU_B] += 2.0 * tau * (regain**2 * xx + regain * share * xb + share**2 * bb)
    source = int(rows[r, _SOURCE])
    if source >= 0:
        g[_FACTOR + source] += bar[2]
        g[_SD_SOURCE + source] += 2.0 * p[_SD_SOURCE + source] * P[2, 2]
    for i in range(3):
        m[i] *= scale[i]
        for d in range(states):
            P[i, d] *= scale[i]
        for d in range(states):
            P[d, i] *= scale[i]
    return by_regain, xx


@part
def _pull_back(kept: float, fall: float, sink: float, states: int, m: Floats, P: Floats) -> None:
    """m <- F' m and P <- F' P F, as `filtering.pull_back`."""
    onto = 1.0 - kept
    lead = m[0]
    m[0] = kept * lead
    m[2] += fall * lead - sink * m[1]
    m[1] += onto * lead
    for i in range(states):
        lead, second = P[0, i], P[1, i]
        P[0, i] = kept * lead
        P[1, i] = second + onto * lead
        P[2, i] += fall * lead - sink * second
    for i in range(states):
        lead, second = P[i, 0], P[i, 1]
        P[i, 0] = kept * lead
        P[i, 1] = second + onto * lead
        P[i, 2] += fall * lead - sink * second


@part
def _by_move(
    j: int, kept: float, fall: float, sink: float, states: int, trail: Trail
) -> tuple[float, float, float, float]:
    """Derivatives by kept less that by onto, by fall, by sink and by noise, as `gradient._back_through_move`."""
    m, P, onto = trail.m, trail.P, 1.0 - kept
    x_bar, sink_bar, cov, mean = trail.spare[2], 0.0, trail.after_cov, trail.after_mean
    for i in range(3):
        x_row = kept * cov[j, 0, i] + onto * cov[j, 1, i] + fall * cov[j, 2, i]
        b_row = cov[j, 1, i] - sink * cov[j, 2, i]
        by_x, by_b = P[0, 0] * x_row + P[0, 1] * b_row, P[1, 0] * x_row + P[1, 1] * b_row
        for d in range(2, states):
            by_x += P[0, d] * cov[j, d, i]
            by_b += P[1, d] * cov[j, d, i]
        x_bar[i] = m[0] * mean[j, i] + 2.0 * by_x
        sink_bar = -(m[1] * mean[j, i] + 2.0 * by_b)
    return x_bar[0] - x_bar[1], x_bar[2], sink_bar, P[0, 0]


@part
def _back_through_span(
    rows: Floats, r: int, j: int, kind: int, p: Floats, states: int, trail: Trail, g: Floats
) -> None:
    """Through the change, the cleaning and the time of step j, to what the parameters have in them."""
    n = trail.numbers
    keep, open_years, years, mean_decay = n[j, _KEEP], n[j, _OPEN], n[j, _YEARS], n[j, _MEAN_DECAY]
    gamma, sink = p[_GAMMA], p[_GAMMA] * years
    fall = sink + (1.0 - gamma) * open_years
    regain, _, changes = cleaned(rows, r, p)
    by_regain = by_added = 0.0
    if changes:
        by_regain, by_added = _back_through_change(rows, r, j, kind, p, states, trail, g)
    left = 1.0 if changes else 1.0 - regain
    kept, onto_fall = left * keep, -left * fall - (1.0 - left) * sink
    by_kept, by_fall, by_sink, by_noise = _by_move(j, kept, onto_fall, sink, states, trail)
    _pull_back(kept, onto_fall, sink, states, trail.m, trail.P)
    noise = p[_DRIFT] * years * mean_decay * 0.5 * (1.0 + keep)
    if not changes:
        by_regain = -keep * by_kept + (fall - sink) * by_fall - 2.0 * left * noise * by_noise
        by_added = by_noise
    _by_pace(
        kind,
        p,
        n,
        j,
        (left * by_kept, -left * by_fall, by_sink - (1.0 - left) * by_fall, left**2 * by_noise),
        g,
    )
    method = int(rows[r, _CLEANING])
    if method >= 0:
        share = rows[r, _SHARE]
        g[_RHO + method] += share * by_regain
        g[_WET_LOSS + method] -= share * by_regain * rows[r, _WET]
        g[_SD_CLEAN + method] += 2.0 * p[_SD_CLEAN + method] * share * by_added


@part
def _by_pace(
    kind: int, p: Floats, n: Floats, j: int, bars: tuple[float, float, float, float], g: Floats
) -> None:
    """As `decline.passage_gradient`; bars: by keep, fall, sink and noise of the span."""
    by_keep, by_fall, by_sink, by_noise = bars
    keep, years, mean_decay = n[j, _KEEP], n[j, _YEARS], n[j, _MEAN_DECAY]
    z = min(max(p[_KAPPA + kind] * years, -_STEEPEST), _STEEPEST)
    slope = mean_decay_slope(z, keep)
    twice = 0.5 * (slope * (1.0 + keep) - mean_decay * keep)  # 2 mean_decay'(2 z)
    by_z = (
        -keep * by_keep + years * slope * (1.0 - p[_GAMMA]) * by_fall + p[_DRIFT] * years * twice * by_noise
    )
    g[_KAPPA + kind] += years * by_z
    g[_GAMMA] += years * by_sink + (years - n[j, _OPEN]) * by_fall
    g[_DRIFT] += years * mean_decay * 0.5 * (1.0 + keep) * by_noise


@seldom
def _back_through_start(
    data: Surfaces, at: int, p: Floats, states: int, trail: Trail, g: Floats, sums: Floats
) -> None:
    m, P, kind = trail.m, trail.P, data.kind[at]
    g[_MU_B + kind] += m[0] + m[1]
    g[_MU_LAM + kind] += m[2]
    for i in range(data.z.shape[1]):
        g[_BETA + i] += m[2] * data.z[at, i]
    both = P[0, 2] + P[1, 2] + P[2, 0] + P[2, 1]
    g[_TAU_B] += 2.0 * p[_TAU_B] * (P[0, 0] + P[0, 1] + P[1, 0] + P[1, 1]) + p[_CORR] * p[_TAU_LAM] * both
    g[_TAU_LAM] += 2.0 * p[_TAU_LAM] * P[2, 2] + p[_CORR] * p[_TAU_B] * both
    g[_CORR] += p[_TAU_B] * p[_TAU_LAM] * both
    if states > OFFSETS_AT:
        for i in range(data.offset_first[at + 1] - data.offset_first[at]):
            named = max(-data.offset_var[data.offset_first[at] + i], 0.0)
            sums[_LOCATED] += named * P[OFFSETS_AT + i, OFFSETS_AT + i]


@seldom
def _back_through_within(data: Surfaces, at: int, p: Floats, sums: Floats) -> None:
    """As `gradient._within_gradient`."""
    within, spots = data.within, data.spots
    chosen = p[_SD_SPOT] ** 2
    located = chosen * p[_LOCATION_SHARE]
    fixed = chosen - located
    sums[_SPOT_VAR] -= 0.5 * (within[at, 0] / chosen - within[at, 2] / chosen**2)
    sums[_FIXED_WITHIN] -= 0.5 * (within[at, 1] / fixed - within[at, 3] / fixed**2)
    if spots[at, 1] > 0.0 or spots[at, 2] > 0.0:
        both = fixed + spots[at, 0] * located
        by_both = -0.5 * (spots[at, 1] / both - spots[at, 2] / both**2)
        sums[_FIXED_WITHIN] += by_both
        sums[_LOCATED] += spots[at, 0] * by_both


@part
def _one(
    data: Surfaces,
    at: int,
    p: Floats,
    variances: Spread,
    states: int,
    trail: Trail,
    g: Floats,
    sums: Floats,
) -> float:
    """Log-likelihood of one surface; its derivatives are added to g and sums."""
    rows, kind, first, last = data.rows, data.kind[at], data.first[at], data.first[at + 1]
    start(data, at, p, states, trail.after_mean[0], trail.after_cov[0])
    total, before = within(data, at, variances), 0.0
    for r in range(first, last):
        _move_on(rows, r, r - first, kind, p, rows[r, _T] - before, states, trail)
        total += _read(rows, r, r - first, p, states, trail)
        before = rows[r, _T]
    trail.m[:] = 0.0
    trail.P[:] = 0.0
    for r in range(last - 1, first - 1, -1):
        _back_through_reading(rows, r, r - first, p, states, trail, g, sums)
        if rows[r, _RESET] > 0.0:
            _back_through_day(p, states, trail.m, trail.P, g)
        _back_through_span(rows, r, r - first, kind, p, states, trail, g)
    _back_through_start(data, at, p, states, trail, g, sums)
    _back_through_within(data, at, p, sums)
    return total


@compiled
def gradient_of_some(data: Surfaces, which: Ints, p: Floats, states: int, g: Floats) -> float:
    """Log-likelihood of the surfaces which (n,), and its derivatives by p (P,), written into g (P,)."""
    steps = 0
    for i in range(len(which)):
        steps = max(steps, data.first[which[i] + 1] - data.first[which[i]])
    trail, sums, total = trail_for(steps, states), np.zeros(4), 0.0
    variances = spread_of_tests(p)
    g[:] = 0.0
    for i in range(len(which)):
        total += _one(data, which[i], p, variances, states, trail, g, sums)
    sums_to_slopes(p, sums, g)
    return total


@seldom
def sums_to_slopes(p: Floats, sums: Floats, g: Floats) -> None:
    """Turn the sums over surfaces into derivatives by the spots' scatter and the share of it that stays at a spot."""
    share, spot_var = p[_LOCATION_SHARE], p[_SD_SPOT] ** 2
    located, named, fixed = sums[_LOCATED], sums[_NAMED_VAR], sums[_FIXED_WITHIN]
    g[_SD_SPOT] += (
        2.0 * p[_SD_SPOT] * (sums[_SPOT_VAR] - share * named + (1.0 - share) * fixed + share * located)
    )
    g[_LOCATION_SHARE] += spot_var * (located - named - fixed)
