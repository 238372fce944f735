"""The usual surface, with three states and no more: `kernel` and `kernel_gradient` written out in plain numbers.

An offset that every reading has, as the mean of the same fixed spots, shifts x and b alike, and neither time nor a
cleaning of the joints tells one shift from none: what moves x is b - x, what moves b is lam. It therefore needs no
state; its variance is added to that of the rate as new. Where b is drawn anew the offset stays behind, and those
surfaces go the other way.

A state is (x, b, lam, xx, xb, xl, bb, bl, ll): three means and six covariances.
"""

from __future__ import annotations

import math

import numpy as np

from .kernel import (
    _BETA,
    _CLEANING,
    _CODE,
    _CORR,
    _DAY,
    _DRIFT,
    _FACTOR,
    _GAMMA,
    _INV_N,
    _KAPPA,
    _LOCATION_SHARE,
    _LOG_2PI,
    _METHOD,
    _MU_B,
    _MU_LAM,
    _NAMED,
    _OFFSET,
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
    _WET,
    _WET_LOSS,
    _Y,
    Spread,
    Surfaces,
    change_of,
    cleaned,
    compiled,
    mean_decay_slope,
    part,
    reading_var,
    seldom,
    span_of,
    spread_of_tests,
    take_in,
    within,
)
from .kernel_gradient import _LOCATED, _NAMED_VAR, _SPOT_VAR, _back_through_within, _pull, sums_to_slopes
from .packing import EXACT, Floats, Ints

State = tuple[float, float, float, float, float, float, float, float, float]

# A row of the trail: the state after the step before, what the reading did, the span, and the state before a change.
_ACROSS, _INNOVATION, _VARIANCE, _E, _K = 9, 12, 13, 14, 15
_KEEP, _OPEN, _MEAN_DECAY, _YEARS, _REGAIN, _MOVED = 16, 17, 18, 19, 20, 21
_WIDTH = 30


@part
def _offset_var(data: Surfaces, at: int, p: Floats) -> float:
    """Variance of the offset that every reading has, 0 where there is none."""
    first = data.offset_first[at]
    if first == data.offset_first[at + 1]:
        return 0.0
    known = data.offset_var[first]
    return known if known >= 0.0 else -known * p[_LOCATION_SHARE] * p[_SD_SPOT] ** 2


@part
def _start(data: Surfaces, at: int, p: Floats) -> State:
    """As `kernel.start`, x and b with the offset."""
    kind, lam = data.kind[at], 0.0
    for i in range(data.z.shape[1]):
        lam += p[_BETA + i] * data.z[at, i]
    new, tau = p[_MU_B + kind], p[_TAU_B]
    var, both = tau * tau + _offset_var(data, at, p), p[_CORR] * tau * p[_TAU_LAM]
    return new, new, p[_MU_LAM + kind] + lam, var, var, both, var, both, p[_TAU_LAM] * p[_TAU_LAM]


@part
def _advance(s: State, kept: float, fall: float, sink: float, noise: float) -> State:
    """As `kernel.advance`."""
    x, b, lam, xx, xb, xl, bb, bl, ll = s
    onto = 1.0 - kept
    # The covariances of x as it will be with x, b and lam as they are.
    to_x = kept * xx + onto * xb + fall * xl
    to_b = kept * xb + onto * bb + fall * bl
    to_l = kept * xl + onto * bl + fall * ll
    return (
        kept * x + onto * b + fall * lam,
        b - sink * lam,
        lam,
        kept * to_x + onto * to_b + fall * to_l + noise,
        to_b - sink * to_l,
        to_l,
        bb - 2.0 * sink * bl + sink * sink * ll,
        bl - sink * ll,
        ll,
    )


@seldom
def _make_change(rows: Floats, r: int, kind: int, p: Floats, regain: float, added: float, s: State) -> State:
    """As `kernel.make_change`."""
    x, b, lam, xx, xb, xl, bb, bl, ll = s
    for_x, for_b, for_l = change_of(rows, r, p, regain)
    share, new, source = rows[r, _SHARE], p[_MU_B + kind], int(rows[r, _SOURCE])
    var, more = p[_TAU_B] ** 2, p[_SD_SOURCE + source] ** 2 if source >= 0 else 0.0
    return (
        for_x * x + regain * new,
        for_b * b + share * new,
        for_l * lam,
        for_x * for_x * xx + regain * regain * var + added,
        for_x * for_b * xb + regain * share * var,
        for_x * for_l * xl,
        for_b * for_b * bb + share * share * var,
        for_b * for_l * bl,
        for_l * for_l * ll + more,
    )


@part
def _taken(s: State, e: float, k: float) -> State:
    """The state after a reading."""
    x, b, lam, xx, xb, xl, bb, bl, ll = s
    by_x, by_b, by_l = xx * k, xb * k, xl * k
    return (
        x + xx * e,
        b + xb * e,
        lam + xl * e,
        xx - by_x * xx,
        xb - by_x * xb,
        xl - by_x * xl,
        bb - by_b * xb,
        bl - by_b * xl,
        ll - by_l * xl,
    )


@part
def _filter(data: Surfaces, at: int, p: Floats) -> tuple[float, State]:
    """Log-likelihood of the means and bounds of one surface, and the state after its last event."""
    kind, rows = data.kind[at], data.rows
    s, total, product, before = _start(data, at, p), 0.0, 1.0, 0.0
    for r in range(data.first[at], data.first[at + 1]):
        keep, fall, sink, noise, _, _ = span_of(p, p[_KAPPA + kind], rows[r, _T] - before)
        before = rows[r, _T]
        regain, added, changes = cleaned(rows, r, p)
        left, pulled, scatter = (1.0, 0.0, 0.0) if changes else (1.0 - regain, regain, added)
        s = _advance(s, left * keep, -left * fall - pulled * sink, sink, scatter + left * left * noise)
        if changes:
            s = _make_change(rows, r, kind, p, regain, added, s)
        code = rows[r, _CODE]
        if code <= 0.0:
            continue
        var = s[3] + reading_var(rows, r, p)
        innovation = rows[r, _Y] - p[_OFFSET + int(rows[r, _METHOD])] - s[0]
        e, k, bound = take_in(code, innovation, var)
        total += bound
        if code == EXACT:
            total -= 0.5 * e * innovation
            product *= 2.0 * math.pi * var
            if not 1e-200 < product < 1e200:
                total -= 0.5 * math.log(product)
                product = 1.0
        s = _taken(s, e, k)
    return total - 0.5 * math.log(product), s


@compiled
def filter_some(data: Surfaces, which: Ints, p: Floats, loglik: Floats) -> None:
    """(n,) log-likelihood of the surfaces which (n,), written into loglik."""
    variances = spread_of_tests(p)
    for i in range(len(which)):
        loglik[i] = _filter(data, which[i], p)[0] + within(data, which[i], variances)


@compiled
def states_of_some(data: Surfaces, which: Ints, sets: Floats, means: Floats, covs: Floats) -> None:
    """As `kernel.states_of_some`, of surfaces without an offset."""
    for i in range(len(which)):
        for s in range(len(sets)):
            _, (x, b, lam, xx, xb, xl, bb, bl, ll) = _filter(data, which[i], sets[s])
            means[0, s, i], means[1, s, i], means[2, s, i] = x, b, lam
            covs[0, 0, s, i], covs[1, 1, s, i], covs[2, 2, s, i] = xx, bb, ll
            covs[0, 1, s, i] = covs[1, 0, s, i] = xb
            covs[0, 2, s, i] = covs[2, 0, s, i] = xl
            covs[1, 2, s, i] = covs[2, 1, s, i] = bl


@part
def _keep(trail: Floats, j: int, column: int, s: State) -> None:
    for i in range(9):
        trail[j, column + i] = s[i]


@part
def _forth(data: Surfaces, at: int, p: Floats, trail: Floats) -> float:
    """`_filter`, leaving a trail."""
    kind, rows, first = data.kind[at], data.rows, data.first[at]
    s, total, before = _start(data, at, p), 0.0, 0.0
    for r in range(first, data.first[at + 1]):
        j, years = r - first, rows[r, _T] - before
        before = rows[r, _T]
        _keep(trail, j, 0, s)
        keep, fall, sink, noise, open_years, mean_decay = span_of(p, p[_KAPPA + kind], years)
        regain, added, changes = cleaned(rows, r, p)
        left, pulled, scatter = (1.0, 0.0, 0.0) if changes else (1.0 - regain, regain, added)
        s = _advance(s, left * keep, -left * fall - pulled * sink, sink, scatter + left * left * noise)
        if changes:
            _keep(trail, j, _MOVED, s)
            s = _make_change(rows, r, kind, p, regain, added, s)
        trail[j, _KEEP], trail[j, _OPEN], trail[j, _MEAN_DECAY] = keep, open_years, mean_decay
        trail[j, _YEARS], trail[j, _REGAIN] = years, regain
        code = rows[r, _CODE]
        if code <= 0.0:
            continue
        var = s[3] + reading_var(rows, r, p)
        innovation = rows[r, _Y] - p[_OFFSET + int(rows[r, _METHOD])] - s[0]
        e, k, loglik = take_in(code, innovation, var)
        total += -0.5 * (_LOG_2PI + math.log(var) + e * innovation) if code == EXACT else loglik
        trail[j, _ACROSS], trail[j, _ACROSS + 1], trail[j, _ACROSS + 2] = s[3], s[4], s[5]
        trail[j, _INNOVATION], trail[j, _VARIANCE], trail[j, _E], trail[j, _K] = innovation, var, e, k
        s = _taken(s, e, k)
    return total


@part
def _back_through_reading(
    rows: Floats, r: int, trail: Floats, j: int, p: Floats, s: State, g: Floats, sums: Floats
) -> State:
    """Derivatives by the state before a reading from those after it, as `kernel_gradient`."""
    m0, m1, m2, xx, xb, xl, bb, bl, ll = s
    a0, a1, a2 = trail[j, _ACROSS], trail[j, _ACROSS + 1], trail[j, _ACROSS + 2]
    e, k = trail[j, _E], trail[j, _K]
    q0, q1, q2 = xx * a0 + xb * a1 + xl * a2, xb * a0 + bb * a1 + bl * a2, xl * a0 + bl * a1 + ll * a2
    e_bar, k_bar = m0 * a0 + m1 * a1 + m2 * a2, -(a0 * q0 + a1 * q1 + a2 * q2)
    by_innovation, by_var = _pull(
        rows[r, _CODE], trail[j, _INNOVATION], trail[j, _VARIANCE], e, k, e_bar, k_bar
    )
    g[_OFFSET + int(rows[r, _METHOD])] -= by_innovation
    g[_SD_DAY] += 2.0 * p[_SD_DAY] * rows[r, _DAY] * by_var
    sums[_SPOT_VAR] += by_var * rows[r, _INV_N]
    sums[_NAMED_VAR] += by_var * rows[r, _INV_N] * rows[r, _NAMED]
    return (
        m0 - by_innovation,
        m1,
        m2,
        xx + m0 * e - 2.0 * k * q0 + by_var,
        xb + 0.5 * m1 * e - k * q1,
        xl + 0.5 * m2 * e - k * q2,
        bb,
        bl,
        ll,
    )


@seldom
def _back_through_change(
    rows: Floats, r: int, trail: Floats, j: int, kind: int, p: Floats, s: State, g: Floats
) -> tuple[State, float]:
    """Derivatives by the state before a change, and by the share given back."""
    m0, m1, m2, xx, xb, xl, bb, bl, ll = s
    x, lam, vll = trail[j, _MOVED], trail[j, _MOVED + 2], trail[j, _MOVED + 8]
    vxx, vxb, vxl, vbl = (
        trail[j, _MOVED + 3],
        trail[j, _MOVED + 4],
        trail[j, _MOVED + 5],
        trail[j, _MOVED + 7],
    )
    regain, share, tau = trail[j, _REGAIN], rows[r, _SHARE], p[_TAU_B]
    c0, c1, c2 = change_of(rows, r, p, regain)
    bar_x = m0 * x + 2.0 * (xx * vxx * c0 + xb * vxb * c1 + xl * vxl * c2)
    by_regain = -bar_x + p[_MU_B + kind] * m0 + 2.0 * tau * tau * (regain * xx + share * xb)
    g[_MU_B + kind] += regain * m0 + share * m1
    g[_TAU_B] += 2.0 * tau * (regain * regain * xx + 2.0 * regain * share * xb + share * share * bb)
    source = int(rows[r, _SOURCE])
    if source >= 0:
        g[_FACTOR + source] += m2 * lam + 2.0 * (xl * vxl * c0 + bl * vbl * c1 + ll * vll * c2)
        g[_SD_SOURCE + source] += 2.0 * p[_SD_SOURCE + source] * ll
    before = (
        c0 * m0,
        c1 * m1,
        c2 * m2,
        c0 * c0 * xx,
        c0 * c1 * xb,
        c0 * c2 * xl,
        c1 * c1 * bb,
        c1 * c2 * bl,
        c2 * c2 * ll,
    )
    return before, by_regain


@part
def _by_move(
    trail: Floats, j: int, kept: float, fall: float, sink: float, s: State
) -> tuple[float, float, float]:
    """Derivatives by kept less that by onto, by fall and by sink, as `kernel_gradient`."""
    m0, m1, _, xx, xb, xl, bb, bl, _ = s
    x, b, lam, vxx, vxb, vxl, vbb, vbl, vll = (
        trail[j, 0],
        trail[j, 1],
        trail[j, 2],
        trail[j, 3],
        trail[j, 4],
        trail[j, 5],
        trail[j, 6],
        trail[j, 7],
        trail[j, 8],
    )
    onto = 1.0 - kept
    x_x, b_x = kept * vxx + onto * vxb + fall * vxl, vxb - sink * vxl
    x_b, b_b = kept * vxb + onto * vbb + fall * vbl, vbb - sink * vbl
    x_l, b_l = kept * vxl + onto * vbl + fall * vll, vbl - sink * vll
    by_x = m0 * x + 2.0 * (xx * x_x + xb * b_x + xl * vxl)
    by_b = m0 * b + 2.0 * (xx * x_b + xb * b_b + xl * vbl)
    by_fall = m0 * lam + 2.0 * (xx * x_l + xb * b_l + xl * vll)
    return by_x - by_b, by_fall, -(m1 * lam + 2.0 * (xb * x_l + bb * b_l + bl * vll))


@part
def _pull_back(kept: float, fall: float, sink: float, s: State) -> State:
    """m <- F' m and P <- F' P F, as `kernel_gradient`."""
    m0, m1, m2, xx, xb, xl, bb, bl, ll = s
    onto = 1.0 - kept
    x_b, x_l = xb + onto * xx, xl + fall * xx - sink * xb
    b_b, b_l = bb + onto * xb, bl + fall * xb - sink * bb
    l_l = ll + fall * xl - sink * bl
    return (
        kept * m0,
        m1 + onto * m0,
        m2 + fall * m0 - sink * m1,
        kept * kept * xx,
        kept * x_b,
        kept * x_l,
        b_b + onto * x_b,
        b_l + onto * x_l,
        l_l + fall * x_l - sink * b_l,
    )


@part
def _back_through_span(
    rows: Floats, r: int, trail: Floats, j: int, kind: int, p: Floats, s: State, g: Floats
) -> State:
    """Through the change, the cleaning and the time of step j, to what the parameters have in them."""
    keep, years, mean_decay = trail[j, _KEEP], trail[j, _YEARS], trail[j, _MEAN_DECAY]
    gamma, drift, open_years = p[_GAMMA], p[_DRIFT], trail[j, _OPEN]
    sink, span = gamma * years, years * mean_decay * 0.5 * (1.0 + keep)
    fall = sink + (1.0 - gamma) * open_years
    regain, _, changes = cleaned(rows, r, p)
    by_regain = by_added = 0.0
    if changes:
        by_added = s[3]
        s, by_regain = _back_through_change(rows, r, trail, j, kind, p, s, g)
    left = 1.0 if changes else 1.0 - regain
    kept, onto_fall = left * keep, -left * fall - (1.0 - left) * sink
    by_kept, by_fall, by_sink = _by_move(trail, j, kept, onto_fall, sink, s)
    by_noise = s[3]
    if not changes:
        by_regain = -keep * by_kept + (fall - sink) * by_fall - 2.0 * left * drift * span * by_noise
        by_added = by_noise
    by_noise *= left * left
    slope = mean_decay_slope(min(max(p[_KAPPA + kind] * years, -_STEEPEST), _STEEPEST), keep)
    twice = 0.5 * (slope * (1.0 + keep) - mean_decay * keep)  # 2 mean_decay'(2 z)
    by_z = -keep * left * by_kept - years * (
        slope * (1.0 - gamma) * left * by_fall - drift * twice * by_noise
    )
    g[_KAPPA + kind] += years * by_z
    g[_GAMMA] += years * (by_sink - (1.0 - left) * by_fall) - (years - open_years) * left * by_fall
    g[_DRIFT] += span * by_noise
    method = int(rows[r, _CLEANING])
    if method >= 0:
        share = rows[r, _SHARE]
        g[_RHO + method] += share * by_regain
        g[_WET_LOSS + method] -= share * by_regain * rows[r, _WET]
        g[_SD_CLEAN + method] += 2.0 * p[_SD_CLEAN + method] * share * by_added
    return _pull_back(kept, onto_fall, sink, s)


@part
def _back_through_start(data: Surfaces, at: int, p: Floats, s: State, g: Floats, sums: Floats) -> None:
    m0, m1, m2, xx, xb, xl, bb, bl, ll = s
    kind, tau, tau_lam = data.kind[at], p[_TAU_B], p[_TAU_LAM]
    g[_MU_B + kind] += m0 + m1
    g[_MU_LAM + kind] += m2
    for i in range(data.z.shape[1]):
        g[_BETA + i] += m2 * data.z[at, i]
    both, var = 2.0 * (xl + bl), xx + 2.0 * xb + bb
    g[_TAU_B] += 2.0 * tau * var + p[_CORR] * tau_lam * both
    g[_TAU_LAM] += 2.0 * tau_lam * ll + p[_CORR] * tau * both
    g[_CORR] += tau * tau_lam * both
    first = data.offset_first[at]
    if first < data.offset_first[at + 1]:
        sums[_LOCATED] += max(-data.offset_var[first], 0.0) * var


@part
def _one(
    data: Surfaces, at: int, p: Floats, variances: Spread, trail: Floats, g: Floats, sums: Floats
) -> float:
    """Log-likelihood of one surface; its derivatives are added to g and sums."""
    rows, kind, first = data.rows, data.kind[at], data.first[at]
    total = within(data, at, variances) + _forth(data, at, p, trail)
    s = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    for r in range(data.first[at + 1] - 1, first - 1, -1):
        if rows[r, _CODE] > 0.0:
            s = _back_through_reading(rows, r, trail, r - first, p, s, g, sums)
        s = _back_through_span(rows, r, trail, r - first, kind, p, s, g)
    _back_through_start(data, at, p, s, g, sums)
    _back_through_within(data, at, p, sums)
    return total


@compiled
def gradient_of_some(data: Surfaces, which: Ints, p: Floats, g: Floats) -> float:
    """Log-likelihood of the surfaces which (n,), and its derivatives by p (P,), written into g (P,)."""
    steps = 0
    for i in range(len(which)):
        steps = max(steps, data.first[which[i] + 1] - data.first[which[i]])
    trail, sums, total = np.zeros((steps, _WIDTH)), np.zeros(4), 0.0
    variances = spread_of_tests(p)
    g[:] = 0.0
    for i in range(len(which)):
        total += _one(data, which[i], p, variances, trail, g, sums)
    sums_to_slopes(p, sums, g)
    return total
