"""Portfolio parameters from a portfolio's own tests: the most probable values, and how sure they are.

The marginal likelihood of the filter, summed over the surfaces, times the priors; found by L-BFGS in units of
prior sd, scaled by the curvature of a sample so that it needs few steps. The curvature at the optimum gives
the covariance (Laplace's method: MacKay 2003, Information Theory, Inference and Learning Algorithms, ch. 27).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial
from typing import Any, NamedTuple

import numpy as np
import scipy  # optimize and stats are loaded when first named: they take a second that no start must wait for
from scipy.special import ndtri

from core.errors import OutdatedFitError

from . import compiled, priors
from .blocks import Block, build_blocks, tile
from .gradient import block_loglik_gradient, portfolio_loglik_gradient
from .layout import flatten
from .packing import STEP_AT, Floats, Ints, StepTable
from .parallel import on_all_cores
from .parameters import INDEX, NAMES, PRIOR_MEAN, PRIOR_SD, PortfolioParams, to_params
from .types import CLEANING_METHODS, SurfaceHistory

N_DRAWS = 64  # parameter sets a forecast averages over; antithetic pairs, so the mean is exact
CURVATURE_SAMPLE = 2_000  # surfaces whose curvature stands for the portfolio's when there are more
FIRST_SAMPLE = 60  # surfaces whose curvature at the prior shapes the first steps
_NUMBERS_AT_ONCE = 1_500_000  # held for one pass over some parameter sets when the curvature is taken
_FARTHEST = (
    10.0  # prior sds; a line search that leaps further sees the likelihood of the edge, not an overflow
)
_GROWTH = 4  # of the samples on the way to a large portfolio
_STEPS_A_ROUND, _MOST_ROUNDS = 40, 8
_CLOSE, _NEAR = (
    1e-2,
    5e-2,
)  # of the gradient in posterior sds: where a search stops, and what still counts as arrived
_ON_THE_WAY = 0.5  # the same where more surfaces are still to come, who will move it by more
_THERE = 1e-3  # posterior sds: a last step so short leaves mode and curvature as they are
_LITTLE = 1e-6  # of the log posterior: a round that gains less will not be bettered by another
_STEP = 1e-5  # of a prior sd, differences of the exact gradient


class Beliefs(NamedTuple):
    """What is believed before the tests: a normal an entry of the vector (see `parameters`), sd 0 holds it fixed."""

    mean: Floats
    sd: Floats

    def but(self, **changed: tuple[float, float]) -> Beliefs:
        """Other means and sds by name; a name without a key means every entry of that head.

        Write "__" for ":" as in mu_b__picp. Raises KeyError for an unknown name.
        """
        mean, sd = self.mean.copy(), self.sd.copy()
        for name, belief in changed.items():
            head, _, key = name.partition("__")
            at = (
                [INDEX[f"{head}:{key}"]]
                if key
                else [i for i, n in enumerate(NAMES) if n.split(":")[0] == head]
            )
            if not at:
                raise KeyError(f"No portfolio parameter is called {name!r}.")
            mean[at], sd[at] = belief
        return Beliefs(mean, sd)


PUBLISHED = Beliefs(PRIOR_MEAN, PRIOR_SD)


@dataclass(frozen=True)
class PortfolioFit:
    """Portfolio parameters as a normal distribution of the vector without bounds (see `parameters`).

    mode: (73,) most probable vector; covariance: (73, 73), positive definite where nothing is held fixed
    log_posterior: at the mode, natural log, up to a constant of the prior
    cleanings: behind each cleaning method's share, number of cleanings with tests before and after
    """

    mode: Floats
    covariance: Floats
    converged: bool
    message: str
    n_surfaces: int
    n_tests: int
    log_posterior: float
    cleanings: dict[str, int]

    @cached_property
    def params(self) -> PortfolioParams:
        """Natural parameters at the mode; every field (., 1)."""
        return to_params(self.mode)

    @cached_property
    def draws(self) -> PortfolioParams:
        """Natural parameters of N_DRAWS draws side by side, the same draws every time."""
        return to_params(draw_vectors(self, N_DRAWS))

    def to_dict(self) -> dict[str, Any]:
        """As plain lists and numbers for JSON; the covariance as its lower triangle, row by row."""
        lower = self.covariance[np.tril_indices(len(self.mode))]
        return {
            "schema": priors.SCHEMA,
            "names": list(NAMES),
            "mode": [float(v) for v in self.mode],
            "covariance_lower": [float(v) for v in lower],
            "converged": self.converged,
            "message": self.message,
            "n_surfaces": self.n_surfaces,
            "n_tests": self.n_tests,
            "log_posterior": self.log_posterior,
            "cleanings": dict(self.cleanings),
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> PortfolioFit:
        """Undo `to_dict`. Raises OutdatedFitError when it was stored by another edition of the model."""
        if data.get("schema") != priors.SCHEMA or tuple(data.get("names", ())) != NAMES:
            raise OutdatedFitError(
                f"The stored fit has schema {data.get('schema')!r}, this edition needs {priors.SCHEMA}; fit again."
            )
        kept = ("converged", "message", "n_surfaces", "n_tests", "log_posterior", "cleanings")
        missing = {"mode", "covariance_lower", *kept} - set(data)
        if missing:
            raise OutdatedFitError(f"The stored fit lacks {', '.join(sorted(missing))}; fit again.")
        size = len(NAMES)
        _refuse_other_size(data, size)
        covariance = np.zeros((size, size))
        covariance[np.tril_indices(size)] = data["covariance_lower"]
        covariance += np.tril(covariance, -1).T
        return cls(np.array(data["mode"], dtype=float), covariance, **{name: data[name] for name in kept})


def _refuse_other_size(data: dict[str, Any], size: int) -> None:
    found = len(data["mode"]), len(data["covariance_lower"])
    if found != (size, size * (size + 1) // 2):
        raise OutdatedFitError(f"The stored fit has {found[0]} parameters, this edition {size}; fit again.")


class _Some(NamedTuple):
    """Some surfaces of a portfolio: their log-likelihood and its gradient, and its curvature at u."""

    size: int
    loglik_gradient: Callable[[Floats], tuple[Floats, Floats]]
    curvature: Callable[[Floats, Beliefs], Floats]


class _Objective(NamedTuple):
    """Minus the log posterior and its gradient as functions of u, the vector in prior sds from its prior mean."""

    some: _Some
    beliefs: Beliefs

    def __call__(self, u: Floats) -> tuple[float, Floats]:
        near, (mean, sd) = np.clip(u, -_FARTHEST, _FARTHEST), self.beliefs
        loglik, gradient = self.some.loglik_gradient(mean + sd * near)
        return float(0.5 * u @ u - loglik[0]), u - sd * gradient[:, 0] * (near == u)


@lru_cache(maxsize=4)
def _even_normals(size: int, n_draws: int) -> Floats:
    """(size, n_draws) standard normals spread evenly: a scrambled Sobol sequence and its mirror image."""
    uniform = scipy.stats.qmc.Sobol(size, rng=1).random(n_draws // 2)
    half = ndtri(np.clip(uniform, 1e-6, 1.0 - 1e-6)).T
    return np.concatenate([half, -half], axis=1)


def draw_vectors(fit: PortfolioFit, n_draws: int) -> Floats:
    """(d, n) vectors drawn evenly from the fit's normal, the same every time; n even.

    By the symmetric root of the covariance, which moves as little as the covariance does: the signs of its axes hang on
    the last digit, and by them two fits that are the same but for it would foresee differently.
    """
    unit = np.sqrt(np.diag(fit.covariance))
    unit = np.where(unit > 0.0, unit, 1.0)
    values, axes = np.linalg.eigh(fit.covariance / np.outer(unit, unit))
    spread = unit[:, None] * (axes * np.sqrt(np.maximum(values, 0.0))) @ axes.T
    return fit.mode[:, None] + spread @ _even_normals(fit.mode.size, n_draws)


def prior_fit(beliefs: Beliefs = PUBLISHED) -> PortfolioFit:
    """The fit of a portfolio without data: the priors themselves."""
    none = dict.fromkeys(CLEANING_METHODS, 0)
    return PortfolioFit(
        beliefs.mean.copy(), np.diag(beliefs.sd**2), True, "No tests yet: the priors.", 0, 0, 0.0, none
    )


def _sets_at_once(block: Block) -> int:
    """Parameter sets to run side by side, so that the states kept on the way stay in the processor's cache."""
    return max(1, _NUMBERS_AT_ONCE // max(block.y.size * block.n_states**2, 1))


def likelihood_curvature(blocks: Sequence[Block], u: Floats, beliefs: Beliefs = PUBLISHED) -> Floats:
    """(d, d) minus the second derivative of the log-likelihood by u, from differences of its exact gradient."""
    size, sd, vectors = u.size, beliefs.sd, _moved(u, beliefs)
    tasks = [
        (block, i, _sets_at_once(block)) for block in blocks for i in range(0, size + 1, _sets_at_once(block))
    ]

    def run(task: tuple[Block, int, int]) -> tuple[int, Floats]:
        block, i, at_once = task
        own = vectors[:, i : i + at_once]
        return i, sd[:, None] * block_loglik_gradient(tile(block, own.shape[1]), own)[1]

    gradient = np.zeros((size, size + 1))
    for i, part in on_all_cores(run, tasks):
        gradient[:, i : i + part.shape[1]] += part
    return _differences(gradient)


def _moved(u: Floats, beliefs: Beliefs) -> Floats:
    """(d, 1 + d) the vector at u, and at u moved a little along each entry."""
    moved = np.concatenate([u[:, None], u[:, None] + _STEP * np.eye(u.size)], axis=1)
    return beliefs.mean[:, None] + beliefs.sd[:, None] * moved


def _differences(gradient: Floats) -> Floats:
    """(d, d) minus the second derivative, from the gradients (d, 1 + d) at `_moved`."""
    curvature = -(gradient[:, 1:] - gradient[:, :1]) / _STEP
    return 0.5 * (curvature + curvature.T)


def _some(table: StepTable, only: Ints) -> _Some:
    """The surfaces only (n,) of a table; those of a large one by compiled code."""
    if table.surface_type.size < compiled.LARGE:
        blocks = build_blocks(table, only)
        return _Some(
            only.size, partial(portfolio_loglik_gradient, blocks), partial(likelihood_curvature, blocks)
        )
    run = partial(compiled.loglik_gradient, compiled.prepare(table, only))

    def curvature(u: Floats, beliefs: Beliefs) -> Floats:
        return _differences(beliefs.sd[:, None] * run(_moved(u, beliefs))[1])

    return _Some(only.size, run, curvature)


def _posterior_axes(likelihood: Floats) -> tuple[Floats, Floats]:
    """Curvatures of the log posterior in u and their axes.

    The prior's own curvature is 1; where the data say nothing, or less than nothing, it stands alone.
    """
    values, axes = np.linalg.eigh(likelihood)
    return 1.0 + np.maximum(values, 0.0), axes


def _in_order(table: StepTable) -> Ints:
    """(S,) the surfaces by what was done to them, kind and length; equal ones by chance, the same each time.

    A sample that takes every k-th then holds its share of what is rare, as a method that few were cleaned by; and
    portfolios come in an order with a beat of its own.
    """
    size, length = table.surface_type.size, np.diff(table.first)
    surface, done = np.repeat(np.arange(size), length), np.zeros(size, np.int64)
    methods = len(CLEANING_METHODS)
    wet = methods * (table.rows[:, STEP_AT["wet"]] > 0.0)
    for column, begin in (("cleaning", wet), ("source", np.full_like(wet, 2 * methods))):
        event = table.rows[:, STEP_AT[column]].astype(np.int64)
        there = event >= 0
        np.bitwise_or.at(done, surface[there], 1 << (begin + event)[there])
    return np.lexsort((np.random.default_rng(size).random(size), length, table.surface_type, done))


def _sample(order: Ints, at_most: int) -> tuple[Ints, float]:
    """Every k-th surface of an order, and how many surfaces each stands for."""
    chosen = order[:: max(1, -(-order.size // at_most))]
    return np.sort(chosen), order.size / max(chosen.size, 1)


class _Found(NamedTuple):
    """Where a search ended: the vector in prior sds, minus the log posterior there, and whether it had arrived."""

    u: Floats
    value: float
    converged: bool
    message: str


def _minimise(objective: _Objective, start: Floats, curvature: Floats, close: float = _CLOSE) -> _Found:
    """L-BFGS from start in coordinates where the given likelihood curvature is round.

    Where it bends down its size still tells how far a step may go (Dauphin et al. 2014, NeurIPS 27, saddle-free).
    """
    values, axes = np.linalg.eigh(curvature)
    widths = axes / np.sqrt(1.0 + np.abs(values))
    begun = objective(start)
    # The first step of L-BFGS is as long as one unit: in this one it is the step the curvature asks for.
    unit = max(float(np.linalg.norm(widths.T @ begun[1])), close)

    def scaled(w: Floats) -> tuple[float, Floats]:
        value, gradient = objective(start + unit * widths @ w) if w.any() else begun
        return value, unit * widths.T @ gradient

    # A gradient of 0.01 in posterior sds leaves the mode within about 0.01 sd of where it belongs.
    options = {"maxiter": _STEPS_A_ROUND, "gtol": unit * close, "ftol": 1e-15, "maxcor": 20}
    found = scipy.optimize.minimize(
        scaled, np.zeros(start.size), jac=True, method="L-BFGS-B", options=options
    )
    arrived = bool(np.abs(found.jac).max() < unit * max(_NEAR, close))
    return _Found(start + unit * widths @ found.x, float(found.fun), arrived, str(found.message))


def _settle(
    objective: _Objective,
    start: Floats,
    curvature: Floats,
    look: Callable[[Floats], Floats],
    close: float = _CLOSE,
) -> _Found:
    """Rounds of `_minimise`, with the curvature looked at anew where a round ended short of the optimum."""
    found = _minimise(objective, start, curvature, close)
    for _ in range(_MOST_ROUNDS):
        if found.converged:
            break
        again = _minimise(objective, found.u, look(found.u), close)
        stuck = again.value > found.value - _LITTLE
        found = again
        if stuck:
            break
    return found


def _cleanings(table: StepTable) -> dict[str, int]:
    """Cleanings with a test before and after them on the same surface, by method."""
    read = table.rows[:, STEP_AT["code"]] > 0
    so_far = np.concatenate([[0], np.cumsum(read)])
    surface = np.repeat(np.arange(table.surface_type.size), np.diff(table.first))
    before = so_far[:-1] - so_far[table.first[:-1]][surface] > 0
    after = so_far[table.first[1:]][surface] - so_far[:-1] > 0
    methods = table.rows[:, STEP_AT["cleaning"]].astype(np.int64)
    counts = np.bincount(methods[(methods >= 0) & before & after], minlength=len(CLEANING_METHODS))
    return {name: int(count) for name, count in zip(CLEANING_METHODS, counts, strict=True)}


def _search(table: StepTable, beliefs: Beliefs) -> tuple[_Found, Floats]:
    """The most probable vector and the likelihood's curvature there: first for few surfaces, then more, then all."""
    order = _in_order(table)
    curvature, found, before = np.zeros(()), _Found(np.zeros(beliefs.mean.size), 0.0, False, ""), 0
    for at_most in sorted({min(FIRST_SAMPLE, CURVATURE_SAMPLE), CURVATURE_SAMPLE}):
        chosen, weight = _sample(order, at_most)
        if chosen.size == before:
            break
        some = _some(table, chosen)

        def look(u: Floats, some: _Some = some) -> Floats:
            return some.curvature(u, beliefs)

        known = look(found.u) if not before else curvature * (chosen.size / before)
        found = _settle(_Objective(some, beliefs), found.u, known, look)
        curvature, before = look(found.u), chosen.size
    if weight > 1.0:
        return _search_on(table, beliefs, _Known(order, found, curvature, look, before))
    if found.converged:
        return _polish(_Objective(some, beliefs), found, curvature, look)
    return found, curvature


class _Known(NamedTuple):
    """What a sample of surfaces has told: the most probable vector, the curvature there, and how to look at another.

    order: of all surfaces, as the sample was drawn
    """

    order: Ints
    found: _Found
    curvature: Floats
    look: Callable[[Floats], Floats]
    size: int


def _search_on(table: StepTable, beliefs: Beliefs, known: _Known) -> tuple[_Found, Floats]:
    """On from a sample to all surfaces, by samples that grow: each search begins near its end, so the last is short.

    The curvature at the end is the sample's, at its own most probable vector, times the surfaces that each stands for.
    """
    found, total, curvature = known.found, table.surface_type.size, known.curvature
    sizes = [known.size * _GROWTH**k for k in range(1, 20) if 2 * known.size * _GROWTH**k <= total]
    for at_most in sizes:
        chosen, _ = _sample(known.order, at_most)
        times = chosen.size / known.size
        found = _minimise(_Objective(_some(table, chosen), beliefs), found.u, times * curvature, _ON_THE_WAY)
        curvature = known.look(found.u)
    times, whole = total / known.size, _Objective(_some(table, np.arange(total)), beliefs)
    found = _settle(whole, found.u, times * curvature, lambda u: times * known.look(u), _NEAR)
    return found, total / known.size * known.curvature


def _polish(
    objective: _Objective, found: _Found, curvature: Floats, look: Callable[[Floats], Floats]
) -> tuple[_Found, Floats]:
    """Newton steps from next to the optimum while they lead down, and the likelihood's curvature where they end.

    Then the order of the surfaces is immaterial, and the curvature is that of the mode: gamma and kappa pull at each
    other so that it changes within a hundredth of an sd.
    """
    for _ in range(_MOST_ROUNDS):
        values, axes = _posterior_axes(curvature)
        along = axes.T @ objective(found.u)[1]
        u = found.u - axes @ (along / values)
        value = objective(u)[0]
        if value > found.value:
            break
        found = found._replace(u=u, value=value)
        if np.linalg.norm(along / np.sqrt(values)) < _THERE:
            break
        curvature = look(u)
    return found, curvature


def fit_table(table: StepTable, beliefs: Beliefs = PUBLISHED) -> PortfolioFit:
    """The same as `fit_portfolio` for histories already laid out by `packing.flatten`."""
    n_tests = int(table.rows[:, STEP_AT["n"]].sum())
    if n_tests == 0:
        return prior_fit(beliefs)
    found, curvature = _search(table, beliefs)
    values, axes = _posterior_axes(curvature)
    half = beliefs.sd[:, None] * axes / np.sqrt(values)
    covariance = half @ half.T
    covariance = 0.5 * (covariance + covariance.T)
    mode = beliefs.mean + beliefs.sd * found.u
    done, n = _cleanings(table), table.surface_type.size
    return PortfolioFit(mode, covariance, found.converged, found.message, n, n_tests, -found.value, done)


def fit_portfolio(histories: Sequence[SurfaceHistory], beliefs: Beliefs = PUBLISHED) -> PortfolioFit:
    """Fit the portfolio parameters to one organisation'ssurfaces.

    Raises ImpossibleRecordError for a history that cannot be.

    beliefs: those of `priors`, or others. A fit that did not converge is returned with converged False and the
    reason in message.
    """
    return fit_table(flatten(histories), beliefs)
