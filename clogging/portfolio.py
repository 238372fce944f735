"""The state of every surface of a portfolio at once, averaged over draws of the portfolio parameters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np

from . import compiled
from .blocks import Block, build_blocks, tile
from .coefficients import coefficients
from .decline import Pace, log_rate_after
from .extrapolation import extrapolate
from .filtering import run_to_end
from .fitting import N_DRAWS, PortfolioFit, draw_vectors
from .layout import flatten
from .mixture import Mixture, believed_quantiles, probability_below, rates_at
from .packing import STEP_AT, Floats, Ints, StepTable
from .parallel import on_all_cores
from .parameters import PortfolioParams, to_params
from .types import SurfaceHistory

LARGE_PORTFOLIO = 5_000  # from here on portfolio parameters are so well known that fewer draws do
_DRAWS_OF_A_LARGE_PORTFOLIO = 8
_COLUMNS_AT_ONCE = 16_384


class PortfolioOutlook(NamedTuple):
    """Rates of S surfaces in their own order at H dates each, mm/h.

    ahead_yr: (H,) years from each surface's now; p_below: (H, S) chance of being below its limit
    median, lo80, hi80, lo95, hi95: (H, S)
    """

    ahead_yr: Floats
    p_below: Floats
    median: Floats
    lo80: Floats
    hi80: Floats
    lo95: Floats
    hi95: Floats


class Piece(NamedTuple):
    """N surfaces of a portfolio: their places in it, their kinds, and the years of their last events."""

    surfaces: Ints
    surface_type: Ints
    last_yr: Floats


def piece_of(block: Block) -> Piece:
    """The surfaces of a block."""
    last = block.t[-1] if len(block.t) else np.zeros(block.n_columns)
    return Piece(block.surfaces, block.surface_type, last)


class PortfolioState(NamedTuple):
    """x, b, lam of each column of a block under M parameter sets: mean (3, M, N), cov (3, 3, M, N)."""

    mean: Floats
    cov: Floats


def _some(params: PortfolioParams, where: slice) -> PortfolioParams:
    return PortfolioParams(*(field[..., where] for field in params))


def block_states(block: Block, params: PortfolioParams) -> PortfolioState:
    """States after each surface's last event under every parameter set, a few sets at a time."""
    n_sets, n = params.n_sets, block.n_columns
    at_once = max(1, _COLUMNS_AT_ONCE // n)
    mean, cov = np.empty((3, n_sets, n)), np.empty((3, 3, n_sets, n))
    for i in range(0, n_sets, at_once):
        own = _some(params, slice(i, i + at_once))
        size = own.n_sets
        tiled = tile(block, size)
        end = run_to_end(tiled, coefficients(tiled, own))
        mean[:, i : i + size] = end.mean[:3].reshape(3, size, n)
        cov[:, :, i : i + size] = end.cov[:3, :3].reshape(3, 3, size, n)
    return PortfolioState(mean, cov)


def _ahead(
    piece: Piece, params: PortfolioParams, state: PortfolioState, now: Floats, ahead: Floats
) -> tuple[Floats, Floats, Floats]:
    """Mean and sd of x at now + ahead, and the kappa that leads there; (H, N, M) each."""
    years = now + ahead[:, None] - piece.last_yr
    kind = piece.surface_type
    state_mean = np.swapaxes(state.mean, 1, 2)
    x, b, lam = state_mean
    pace = Pace(params.kappa[kind], params.gamma, params.drift_var)
    way = extrapolate(pace, years[..., None], x - b, lam, params.mu_lam[kind])
    mean, var = log_rate_after(way.span, state_mean, np.swapaxes(state.cov, 2, 3))
    return mean - way.less_x, np.sqrt(np.maximum(var, 0.0)), way.kappa


def _at_most(
    piece: Piece,
    params: PortfolioParams,
    state: PortfolioState,
    now: Floats,
    ahead: Floats,
    falling: tuple[Floats, Floats, Floats],
) -> tuple[Floats, Floats]:
    """What `_ahead` gave (falling), with a decline that speeds up held at the rate of the last event."""
    mean, sd, kappa = falling
    walk = (now + ahead[:, None] - piece.last_yr)[..., None] * params.drift_var
    kept = np.sqrt(np.maximum(state.cov[0, 0].T + walk, 0.0))
    return np.where(kappa < 0.0, state.mean[0].T, mean), np.where(kappa < 0.0, kept, sd)


def _last_yr(table: StepTable) -> Floats:
    """(S,) years of the last event, 0 without one."""
    if not len(table.rows):
        return np.zeros(table.surface_type.size)
    return np.where(np.diff(table.first) > 0, table.rows[table.first[1:] - 1, STEP_AT["t_yr"]], 0.0)


def _pieces(table: StepTable, params: PortfolioParams) -> list[tuple[Piece, Callable[[], PortfolioState]]]:
    """A portfolio cut into pieces, and how to come by their states; those of a large one by compiled code."""
    if table.surface_type.size < compiled.LARGE:
        blocks = build_blocks(table)
        return [(piece_of(block), partial(block_states, block, params)) for block in blocks]
    prepared, last = compiled.prepare(table), _last_yr(table)

    def states(group: compiled.Group) -> PortfolioState:
        return PortfolioState(*compiled.last_states(prepared, group, params))

    return [
        (Piece(own, table.surface_type[own], last[own]), partial(states, group))
        for group in prepared.groups
        for own in (group.which,)
    ]


def _check_now(table: StepTable, now_yr: Floats) -> None:
    last = _last_yr(table)
    late = np.flatnonzero(~(now_yr >= last))
    if late.size:
        i = int(late[0])
        raise ValueError(f"Surface {i}: now_yr {now_yr[i]} lies before its last event at {last[i]} yr.")


def outlook_of_table(
    table: StepTable,
    fit: PortfolioFit,
    *,
    now_yr: Floats,
    limit_mm_h: Floats,
    ahead_yr: Sequence[float] = (0.0,),
) -> PortfolioOutlook:
    """The same as `forecast_portfolio` for histories already laid out by `packing.flatten`."""
    now, limit = np.asarray(now_yr, dtype=float), np.log(np.asarray(limit_mm_h, dtype=float))
    ahead = np.asarray(ahead_yr, dtype=float)
    _check_now(table, now)
    n = table.surface_type.size
    params = to_params(draw_vectors(fit, N_DRAWS if n < LARGE_PORTFOLIO else _DRAWS_OF_A_LARGE_PORTFOLIO))
    p_below, rates = np.empty((ahead.size, n)), np.empty((ahead.size, n, 5))

    def run(task: tuple[Piece, Callable[[], PortfolioState]]) -> None:
        piece, come_by = task
        own, states = piece.surfaces, come_by()
        falling = _ahead(piece, params, states, now[own], ahead)
        kept = _at_most(piece, params, states, now[own], ahead, falling)
        limits = np.broadcast_to(limit[own], (ahead.size, own.size))
        p_below[:, own] = np.maximum(
            probability_below(limits, *falling[:2]), probability_below(limits, *kept)
        )
        rates[:, own] = rates_at(believed_quantiles(Mixture(*falling[:2]), Mixture(*kept)))

    on_all_cores(run, _pieces(table, params))
    lo95, lo80, median, hi80, hi95 = np.moveaxis(rates, 2, 0)
    return PortfolioOutlook(ahead, p_below, median, lo80, hi80, lo95, hi95)


def forecast_portfolio(
    histories: Sequence[SurfaceHistory],
    fit: PortfolioFit,
    *,
    now_yr: Sequence[float],
    limit_mm_h: Sequence[float],
    ahead_yr: Sequence[float] = (0.0, 0.5, 1.0, 2.0, 5.0),
) -> PortfolioOutlook:
    """Rate and chance of being below the limit of every surface today and at some dates ahead.

    now_yr, limit_mm_h: one a surface, now_yr not before its last event; ahead_yr: years from now, 0 is today.
    Naming the surface: raises ImpossibleRecordError for a history that cannot be, ValueError for such a date.
    """
    return outlook_of_table(
        flatten(histories),
        fit,
        now_yr=np.asarray(now_yr, dtype=float),
        limit_mm_h=np.asarray(limit_mm_h, dtype=float),
        ahead_yr=ahead_yr,
    )


def log_rates_ahead(
    table: StepTable, fit: PortfolioFit, now_yr: Floats, ahead_yr: Floats
) -> tuple[Floats, Floats]:
    """Mean and sd (H, S, M) of each surface's log rate ahead_yr (H,) after now_yr (S,), a normal a draw."""
    now = np.asarray(now_yr, dtype=float)
    _check_now(table, now)
    shape = (len(ahead_yr), table.surface_type.size, N_DRAWS)
    mean, sd = np.empty(shape), np.empty(shape)
    for block in build_blocks(table):
        own = block.surfaces
        states = block_states(block, fit.draws)
        mean[:, own], sd[:, own], _ = _ahead(
            piece_of(block), fit.draws, states, now[own], np.asarray(ahead_yr)
        )
    return mean, sd


def next_log_rates(
    table: StepTable, fit: PortfolioFit, at_yr: Floats, n_tests: Floats | None = None
) -> tuple[Floats, Floats]:
    """Mean and sd (S, M) of each surface's log rate at at_yr (S,), a normal a draw of the portfolio parameters.

    With n_tests (S,) of the mean log rate that many ring tests at chosen spots would show on that day.
    """
    mean, sd = (part[0] for part in log_rates_ahead(table, fit, at_yr, np.zeros(1)))
    if n_tests is None:
        return mean, sd
    params = fit.draws
    return mean, np.sqrt(sd**2 + params.sd_day**2 + params.sd_spot**2 / np.asarray(n_tests)[:, None])
