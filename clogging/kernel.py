"""The filter of many surfaces, compiled: every line is one of `filtering` or `coefficients`, a surface at a time.

Nothing here is a second statement of the model: `filtering.run_to_end` and `gradient.filter_gradient` are the reference
that these must equal. What is gained is memory that is not walked through a dozen times, no padding, and histories that
are read from the flat table as they lie. `compiled` decides when this module, and the compiler with it, is loaded.

Everything is read from StepTable.rows and from one vector of natural parameters, the fields of PortfolioParams one
after the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numba
import numpy as np

from .blocks import OFFSETS_AT
from .packing import BELOW, EXACT, STEP_AT, Floats, Ints
from .parameters import PARAM_AT
from .types import CLEANING_METHODS, RENEWING_METHODS

Function = TypeVar("Function", bound=Callable[..., object])

# A product and a sum in one instruction, rounded once instead of twice; nothing else that would change digits.
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}}

_LOG_2PI = math.log(2.0 * math.pi)
_ROOT_HALF = math.sqrt(0.5)
_STEEPEST = 60.0  # as in `decline`
_NEAR_ZERO = 0.3
_TERMS = 13
_SLOPE_SERIES = tuple((-1.0) ** n * n / math.factorial(n + 1) for n in range(1, _TERMS + 1))
_INVERSE_LN2 = 1.0 / math.log(2.0)
_LN2_FIRST = float.fromhex("0x1.62e42feep-1")  # so short that its product with any k is exact
_LN2_REST = 1.9082149292705877e-10
_SERIES = tuple(1.0 / math.factorial(n) for n in range(2, 14))
_MOST_POWER = 90  # of two, above _STEEPEST / ln 2
_POWERS = np.ldexp(1.0, np.arange(-_MOST_POWER, _MOST_POWER + 1))
_RENEWS = tuple(method in RENEWING_METHODS for method in CLEANING_METHODS)
_FAR_BELOW = -5.0  # sds; below it the tail of a normal is taken from a continued fraction
_FRACTION_TERMS = 60

_T, _CLEANING, _SHARE, _WET = STEP_AT["t_yr"], STEP_AT["cleaning"], STEP_AT["share"], STEP_AT["wet"]
_CODE, _Y, _INV_N, _NAMED = STEP_AT["code"], STEP_AT["y"], STEP_AT["inv_n"], STEP_AT["named"]
_DAY, _RESET, _USES_DAY, _METHOD = STEP_AT["day"], STEP_AT["reset"], STEP_AT["uses_day"], STEP_AT["method"]
_METHOD_SLOT, _LOCATION_SLOT = STEP_AT["method_slot"], STEP_AT["location_slot"]
_SOURCE, _FIXED_VAR = STEP_AT["source"], STEP_AT["fixed_var"]
_N, _DF, _SS = STEP_AT["n"], STEP_AT["df"], STEP_AT["ss"]

_MU_B, _MU_LAM, _BETA, _KAPPA = PARAM_AT["mu_b"], PARAM_AT["mu_lam"], PARAM_AT["beta"], PARAM_AT["kappa"]
_GAMMA, _CORR, _TAU_B, _TAU_LAM = PARAM_AT["gamma"], PARAM_AT["corr"], PARAM_AT["tau_b"], PARAM_AT["tau_lam"]
_DRIFT, _SD_DAY, _SD_SPOT = PARAM_AT["drift_var"], PARAM_AT["sd_day"], PARAM_AT["sd_spot"]
_LOCATION_SHARE, _RHO, _WET_LOSS = PARAM_AT["location_share"], PARAM_AT["rho"], PARAM_AT["wet"]
_SD_CLEAN, _OFFSET = PARAM_AT["sd_clean"], PARAM_AT["offset"]
_FACTOR, _SD_SOURCE = PARAM_AT["source_factor"], PARAM_AT["sd_source"]


def compiled(function: Function) -> Function:
    """The function compiled on its first call, and kept on disk where there is a folder to keep it in."""
    try:
        return cast(Function, numba.njit(cache=True, **_OPTIONS)(function))
    except RuntimeError:  # numba found no folder it may write to
        return cast(Function, numba.njit(**_OPTIONS)(function))


def part(function: Function) -> Function:
    """A part of compiled functions, laid into each: handing over so many arrays would cost more than the work."""
    return cast(Function, numba.njit(forceinline=True, **_OPTIONS)(function))


def seldom(function: Function) -> Function:
    """A part that few steps need, called: laid into everything it would only keep the compiler busy."""
    return cast(Function, numba.njit(**_OPTIONS)(function))


class Surfaces(NamedTuple):
    """Flat columns of S surfaces, as in StepTable.

    offset_first: (S + 1,) where each surface's offset_var begin
    within: (S, 5) degrees and squares of the tests about their means, at chosen spots and at fixed locations, and the
        sum of log n
    """

    first: Ints
    rows: Floats
    kind: Ints
    z: Floats
    offset_first: Ints
    offset_var: Floats
    within: Floats
    spots: Floats


class Trail(NamedTuple):
    """What the way forward leaves for the way back; J steps at most, D states.

    after_mean (J + 1, D), after_cov (J + 1, D, D); mean, cov: just before the reading; moved_mean, moved_cov: before a
    change; across: (J, D); numbers: (J, 9) as named below; m, P: derivatives by mean and covariance; spare: (4, D)
    """

    after_mean: Floats
    after_cov: Floats
    mean: Floats
    cov: Floats
    moved_mean: Floats
    moved_cov: Floats
    across: Floats
    numbers: Floats
    m: Floats
    P: Floats
    spare: Floats


Spread = tuple[float, float, float, float]

_KEEP, _OPEN, _MEAN_DECAY, _YEARS, _REGAIN, _INNOVATION, _VARIANCE, _E, _K = range(9)


@seldom
def trail_for(steps: int, states: int) -> Trail:
    """Room for surfaces of up to so many steps."""
    return Trail(
        np.zeros((steps + 1, states)),
        np.zeros((steps + 1, states, states)),
        np.zeros((steps, states)),
        np.zeros((steps, states, states)),
        np.zeros((steps, states)),
        np.zeros((steps, states, states)),
        np.zeros((steps, states)),
        np.zeros((steps, 9)),
        np.zeros(states),
        np.zeros((states, states)),
        np.zeros((4, states)),
    )


@part
def mean_decay_slope(z: float, keep: float) -> float:
    """As in `decline`; keep: e^-z."""
    if abs(z) >= _NEAR_ZERO:
        return (keep * (1.0 + z) - 1.0) / (z * z)
    series = 0.0
    for i in range(_TERMS):
        series = series * z + _SLOPE_SERIES[_TERMS - 1 - i]
    return series


@part
def expm1(x: float) -> float:
    """e^x - 1 to the last digit but one, for x within _STEEPEST of 0; the library's takes as long as half a step.

    x = k ln 2 + r: the series of r, scaled by 2^k (Muller 2016, Elementary Functions, 3rd ed., ch. 11, from memory).
    """
    k = math.floor(x * _INVERSE_LN2 + 0.5)
    r = (x - k * _LN2_FIRST) - k * _LN2_REST
    square = r * r
    a = _SERIES[0] + r * _SERIES[1] + square * (_SERIES[2] + r * _SERIES[3])
    b = _SERIES[4] + r * _SERIES[5] + square * (_SERIES[6] + r * _SERIES[7])
    c = _SERIES[8] + r * _SERIES[9] + square * (_SERIES[10] + r * _SERIES[11])
    fourth = square * square
    away = r + square * (a + fourth * (b + fourth * c))
    scale = _POWERS[min(max(int(k) + _MOST_POWER, 0), 2 * _MOST_POWER)]
    return scale * away + (scale - 1.0)


@part
def span_of(p: Floats, kappa: float, years: float) -> tuple[float, float, float, float, float, float]:
    """keep, fall, sink and noise of `decline.passage`, the years an open surface would take for it, and mean_decay."""
    z = min(max(kappa * years, -_STEEPEST), _STEEPEST)
    lost = expm1(-z)
    mean_decay = 1.0 if z == 0.0 else -lost / z
    open_years = years * mean_decay
    sink = p[_GAMMA] * years
    noise = p[_DRIFT] * years * mean_decay * (1.0 + 0.5 * lost)
    return 1.0 + lost, sink + (1.0 - p[_GAMMA]) * open_years, sink, noise, open_years, mean_decay


@seldom
def tail(alpha: float) -> tuple[float, float]:
    """Of a standard normal below alpha: its hazard and the log of its probability."""
    if alpha > _FAR_BELOW:
        chance = 0.5 * math.erfc(-alpha * _ROOT_HALF)
        log_chance = math.log(chance) if alpha < 0.0 else math.log1p(-0.5 * math.erfc(alpha * _ROOT_HALF))
        return math.exp(-0.5 * alpha * alpha) / math.sqrt(2.0 * math.pi) / chance, log_chance
    below = -alpha  # Mills' ratio as Laplace's continued fraction: Abramowitz & Stegun (1964), 26.2.14
    ratio = below
    for i in range(_FRACTION_TERMS, 0, -1):
        ratio = below + i / ratio
    return ratio, -0.5 * alpha * alpha - 0.5 * _LOG_2PI - math.log(ratio)


@seldom
def start(data: Surfaces, at: int, p: Floats, states: int, mean: Floats, cov: Floats) -> None:
    """The state at opening, as `coefficients` has it."""
    kind = data.kind[at]
    mean[:] = 0.0
    cov[:] = 0.0
    mean[0] = mean[1] = p[_MU_B + kind]
    lam = 0.0
    for i in range(data.z.shape[1]):
        lam += p[_BETA + i] * data.z[at, i]
    mean[2] = p[_MU_LAM + kind] + lam
    cov[0, 0] = cov[0, 1] = cov[1, 0] = cov[1, 1] = p[_TAU_B] ** 2
    cov[0, 2] = cov[1, 2] = cov[2, 0] = cov[2, 1] = p[_CORR] * p[_TAU_B] * p[_TAU_LAM]
    cov[2, 2] = p[_TAU_LAM] ** 2
    if states > OFFSETS_AT:
        located = p[_LOCATION_SHARE] * p[_SD_SPOT] ** 2
        for i in range(data.offset_first[at + 1] - data.offset_first[at]):
            known = data.offset_var[data.offset_first[at] + i]
            cov[OFFSETS_AT + i, OFFSETS_AT + i] = known if known >= 0.0 else -known * located


@part
def advance(
    states: int, mean: Floats, cov: Floats, kept: float, fall: float, sink: float, noise: float
) -> None:
    """As in `filtering`."""
    onto = 1.0 - kept
    mean[0] = kept * mean[0] + onto * mean[1] + fall * mean[2]
    mean[1] -= sink * mean[2]
    for i in range(states):
        lead = kept * cov[0, i] + onto * cov[1, i] + fall * cov[2, i]
        cov[1, i] -= sink * cov[2, i]
        cov[0, i] = lead
    cov[0, 0] = kept * cov[0, 0] + onto * cov[0, 1] + fall * cov[0, 2] + noise
    cov[0, 1] -= sink * cov[0, 2]
    cov[1, 1] -= sink * cov[1, 2]
    cov[1, 0] = cov[0, 1]
    for i in range(2, states):
        cov[i, 0] = cov[0, i]
        cov[i, 1] = cov[1, i]


@part
def change_of(rows: Floats, r: int, p: Floats, regain: float) -> tuple[float, float, float]:
    """What a change scales x, b and lam by."""
    source = int(rows[r, _SOURCE])
    return 1.0 - regain, 1.0 - rows[r, _SHARE], p[_FACTOR + source] if source >= 0 else 1.0


@seldom
def make_change(
    rows: Floats,
    r: int,
    kind: int,
    p: Floats,
    regain: float,
    added: float,
    states: int,
    mean: Floats,
    cov: Floats,
) -> None:
    """A renewal or a change of source, as `coefficients.renewal` and `filtering.change_columns`."""
    scale, pull, new = change_of(rows, r, p, regain), (regain, rows[r, _SHARE]), p[_MU_B + kind]
    source = int(rows[r, _SOURCE])
    for i in range(3):
        mean[i] *= scale[i]
        for k in range(states):
            cov[i, k] *= scale[i]
        for k in range(states):
            cov[k, i] *= scale[i]
    for i in range(2):
        mean[i] += pull[i] * new
        for k in range(2):
            cov[i, k] += pull[i] * pull[k] * p[_TAU_B] ** 2
    cov[0, 0] += added
    if source >= 0:
        cov[2, 2] += p[_SD_SOURCE + source] ** 2


@part
def cleaned(rows: Floats, r: int, p: Floats) -> tuple[float, float, bool]:
    """Share of the lost log rate a step gives back, the variance it adds, and whether it is a change instead."""
    method = int(rows[r, _CLEANING])
    if method < 0:
        return 0.0, 0.0, rows[r, _SOURCE] >= 0.0
    share = rows[r, _SHARE]
    regain = share * (p[_RHO + method] - rows[r, _WET] * p[_WET_LOSS + method])
    return regain, share * p[_SD_CLEAN + method] ** 2, _RENEWS[method]


@seldom
def draw_day(p: Floats, states: int, mean: Floats, cov: Floats) -> None:
    """A new day effect, independent of everything before."""
    last = states - 1
    mean[last] = 0.0
    for i in range(states):
        cov[last, i] = cov[i, last] = 0.0
    cov[last, last] = p[_SD_DAY] ** 2


@part
def added_up(
    rows: Floats, r: int, states: int, cov: Floats, mean: Floats, across: Floats
) -> tuple[float, float]:
    """across <- cov h; h' cov h and h' mean for the states h that the reading adds up."""
    slots, used, level, var = reads(rows, r, states), 1 if states == OFFSETS_AT else 4, 0.0, 0.0
    for i in range(states):
        across[i] = 0.0
    for s in range(used):
        if slots[s] >= 0:
            level += mean[slots[s]]
            for i in range(states):
                across[i] += cov[slots[s], i]
    for s in range(used):
        if slots[s] >= 0:
            var += across[slots[s]]
    return var, level


@part
def reads(rows: Floats, r: int, states: int) -> tuple[int, int, int, int]:
    """The states that a reading adds up, -1 for none: x, the day effect, the offsets of the method and of the spot."""
    method, location = int(rows[r, _METHOD_SLOT]), int(rows[r, _LOCATION_SLOT])
    return (
        0,
        states - 1 if rows[r, _USES_DAY] > 0.0 else -1,
        OFFSETS_AT + method if method >= 0 else -1,
        OFFSETS_AT + location if location >= 0 else -1,
    )


@part
def reading_var(rows: Floats, r: int, p: Floats) -> float:
    """Variance of a reading given the state."""
    spots = rows[r, _INV_N] * (1.0 - rows[r, _NAMED] * p[_LOCATION_SHARE])
    return rows[r, _DAY] * p[_SD_DAY] ** 2 + spots * p[_SD_SPOT] ** 2 + rows[r, _FIXED_VAR]


@part
def take_in(code: float, innovation: float, variance: float) -> tuple[float, float, float]:
    """e, k and what a bound adds to the log-likelihood, as in `filtering.read`."""
    if code == EXACT:
        k = 1.0 / variance
        return innovation * k, k, 0.0
    sign = 1.0 if code == BELOW else -1.0
    sd = math.sqrt(variance)
    alpha = sign * innovation / sd
    hazard, log_chance = tail(alpha)
    missing = min(max(hazard * (hazard + alpha), 0.0), 1.0)
    return -sign * hazard / sd, missing / variance, log_chance


@part
def spread_of_tests(p: Floats) -> Spread:
    """Variance of a test about its mean and the log of 2 pi times it, at chosen spots and at fixed locations."""
    chosen = p[_SD_SPOT] ** 2
    fixed = chosen * (1.0 - p[_LOCATION_SHARE])
    return chosen, math.log(chosen) + _LOG_2PI, fixed, math.log(fixed) + _LOG_2PI


@seldom
def within(data: Surfaces, at: int, variances: Spread) -> float:
    """As `filtering.within_loglik`; variances: what `spread_of_tests` says."""
    sums, spots = data.within, data.spots
    chosen, log_chosen, fixed, log_fixed = variances
    total = sums[at, 4] + sums[at, 0] * log_chosen + sums[at, 2] / chosen
    total += sums[at, 1] * log_fixed + sums[at, 3] / fixed
    if spots[at, 1] > 0.0 or spots[at, 2] > 0.0:
        both = fixed + spots[at, 0] * (chosen - fixed)
        total += spots[at, 1] * (math.log(both) + _LOG_2PI) + spots[at, 2] / both
    return -0.5 * total


@part
def to_reading(
    rows: Floats, r: int, kind: int, p: Floats, years: float, states: int, mean: Floats, cov: Floats
) -> None:
    """Time, cleaning, change and a new day, in place."""
    keep, fall, sink, noise, _, _ = span_of(p, p[_KAPPA + kind], years)
    regain, added, changes = cleaned(rows, r, p)
    left, pulled, scatter = (1.0, 0.0, 0.0) if changes else (1.0 - regain, regain, added)
    advance(states, mean, cov, left * keep, -left * fall - pulled * sink, sink, scatter + left**2 * noise)
    if changes:
        make_change(rows, r, kind, p, regain, added, states, mean, cov)
    if rows[r, _RESET] > 0.0:
        draw_day(p, states, mean, cov)


@part
def filter_one(
    data: Surfaces, at: int, p: Floats, states: int, mean: Floats, cov: Floats, across: Floats
) -> float:
    """The state after the last event of one surface, and the log-likelihood of its means and bounds."""
    kind, rows = data.kind[at], data.rows
    start(data, at, p, states, mean, cov)
    total, product, before = 0.0, 1.0, 0.0
    for r in range(data.first[at], data.first[at + 1]):
        to_reading(rows, r, kind, p, rows[r, _T] - before, states, mean, cov)
        before = rows[r, _T]
        code = rows[r, _CODE]
        if code <= 0.0:
            continue
        var, level = added_up(rows, r, states, cov, mean, across)
        var += reading_var(rows, r, p)
        innovation = rows[r, _Y] - p[_OFFSET + int(rows[r, _METHOD])] - level
        e, k, bound = take_in(code, innovation, var)
        total += bound
        if code == EXACT:
            total -= 0.5 * e * innovation
            product *= 2.0 * math.pi * var
            if not 1e-200 < product < 1e200:
                total -= 0.5 * math.log(product)
                product = 1.0
        for i in range(states):
            mean[i] += across[i] * e
            for j in range(states):
                cov[i, j] -= across[i] * k * across[j]
    return total - 0.5 * math.log(product)


@compiled
def filter_some(data: Surfaces, which: Ints, p: Floats, states: int, loglik: Floats) -> None:
    """(n,) log-likelihood of the surfaces which (n,), written into loglik."""
    mean, cov, across = np.zeros(states), np.zeros((states, states)), np.zeros(states)
    variances = spread_of_tests(p)
    for i in range(len(which)):
        loglik[i] = filter_one(data, which[i], p, states, mean, cov, across) + within(
            data, which[i], variances
        )


@compiled
def states_of_some(
    data: Surfaces, which: Ints, sets: Floats, states: int, means: Floats, covs: Floats
) -> None:
    """States after the last event, (3, M, n) and (3, 3, M, n), of the surfaces which (n,) under sets (M, P)."""
    mean, cov, across = np.zeros(states), np.zeros((states, states)), np.zeros(states)
    for i in range(len(which)):
        for s in range(len(sets)):
            filter_one(data, which[i], sets[s], states, mean, cov, across)
            for a in range(3):
                means[a, s, i] = mean[a]
                for b in range(3):
                    covs[a, b, s, i] = cov[a, b]


@compiled
def sums_within(first: Ints, rows: Floats) -> tuple[Floats, Ints, Ints]:
    """(S, 5) Surfaces.within; (S,) each, whether the last state is a day effect and whether an offset needs no state.

    It needs none where every reading has it and the layer is never renewed (see `kernel_three`).
    """
    sums, has_day = np.zeros((len(first) - 1, 5)), np.zeros(len(first) - 1, np.int64)
    alike = np.ones(len(first) - 1, np.int64)
    for i in range(len(first) - 1):
        for r in range(first[i], first[i + 1]):
            named = rows[r, _NAMED]
            sums[i, 0] += rows[r, _DF] * (1.0 - named)
            sums[i, 1] += rows[r, _DF] * named
            sums[i, 2] += rows[r, _SS] * (1.0 - named)
            sums[i, 3] += rows[r, _SS] * named
            if rows[r, _CODE] == EXACT and rows[r, _N] > 1.0:
                sums[i, 4] += math.log(rows[r, _N])
            if rows[r, _USES_DAY] > 0.0:
                has_day[i] = 1
            other = rows[r, _CODE] > 0.0 and (rows[r, _LOCATION_SLOT] != 0.0 or rows[r, _METHOD_SLOT] >= 0.0)
            if other or (rows[r, _CLEANING] >= 0.0 and _RENEWS[int(rows[r, _CLEANING])]):
                alike[i] = 0
    return sums, has_day, alike
