"""When the compiled filter is worth its loading, and how its work is shared out.

`kernel` brings a compiler, which takes about a second to load, and on a machine that has not kept what it made, most of
a minute to do its work. A page, a command or a portfolio of the usual size must not wait for that: those go by numpy.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from core.calc.compiling import load_compiled

from .blocks import OFFSETS_AT
from .packing import Floats, Ints, StepTable
from .parallel import on_all_cores
from .parameters import PARAM_AT, PortfolioParams, one_after_other, taken_apart, to_params, to_vector_gradient

LARGE = 3_000  # surfaces from which on compiled code is worth its loading
_SURFACES_A_TASK = 1_024
_KERNELS = ("kernel", "kernel_gradient", "kernel_three")
_NAMES = (*_KERNELS, "kernel_futures", "packing", "parameters", "types", "priors")
MADE_FROM = tuple(Path(__file__).parent / f"{name}.py" for name in _NAMES)


@lru_cache(maxsize=1)
def _kernels() -> tuple[Any, Any, Any]:
    """The modules `kernel`, `kernel_gradient` and `kernel_three`, loaded on first use."""
    kernel, gradient, three = load_compiled([f"clogging.{name}" for name in _KERNELS], MADE_FROM)
    return kernel, gradient, three


class Group(NamedTuple):
    """Surfaces with states of one size."""

    which: Ints
    states: int


class Prepared(NamedTuple):
    """A portfolio as the kernels read it, cut into groups for one task each, always the same ones.

    groups: by all states; shorter: by those that the likelihood needs
    """

    data: Any
    groups: list[Group]
    shorter: list[Group]


def _groups(which: Ints, states: Ints) -> Iterator[Group]:
    for n in np.unique(states[which]).tolist():
        own = which[states[which] == n]
        for i in range(0, own.size, _SURFACES_A_TASK):
            yield Group(own[i : i + _SURFACES_A_TASK], n)


def prepare(table: StepTable, only: Ints | None = None) -> Prepared:
    """The surfaces of a table, or only some of them, ready for the kernels."""
    kernel, _, _ = _kernels()
    first, rows = np.ascontiguousarray(table.first, np.int64), np.ascontiguousarray(table.rows)
    within, has_day, alike = kernel.sums_within(first, rows)
    offsets = np.array([len(v) for v in table.offset_var], dtype=np.int64)
    offset_var = np.array([value for own in table.offset_var for value in own], dtype=float)
    offset_first = np.concatenate([[0], np.cumsum(offsets)])
    data = kernel.Surfaces(
        first, rows, table.surface_type, table.z, offset_first, offset_var, within, table.spots
    )
    which = np.arange(table.surface_type.size) if only is None else only
    states = OFFSETS_AT + offsets + has_day
    needed = np.where((alike == 1) & (states == OFFSETS_AT + 1) & (has_day == 0), OFFSETS_AT, states)
    return Prepared(data, list(_groups(which, states)), list(_groups(which, needed)))


def loglik_gradient(prepared: Prepared, vector: Floats) -> tuple[Floats, Floats]:
    """As `gradient.portfolio_loglik_gradient`: log-likelihood (M,) and gradient (d, M) at M vectors (d, M) or one."""
    _, kernel, three = _kernels()
    params = to_params(vector)
    sets = one_after_other(params)

    def run(task: tuple[int, Group]) -> tuple[int, float, Floats]:
        at, group = task
        slopes = np.empty(PARAM_AT["end"])
        if group.states == OFFSETS_AT:
            return at, three.gradient_of_some(prepared.data, group.which, sets[at], slopes), slopes
        return at, kernel.gradient_of_some(prepared.data, group.which, sets[at], group.states, slopes), slopes

    loglik, slopes = np.zeros(len(sets)), np.zeros_like(sets)
    tasks = [(at, group) for at in range(len(sets)) for group in prepared.shorter]
    for at, value, part in on_all_cores(run, tasks):
        loglik[at] += value
        slopes[at] += part
    return loglik, to_vector_gradient(params, taken_apart(slopes))


def log_likelihood(prepared: Prepared, params: PortfolioParams) -> Floats:
    """(S,) log density of every test of every surface, those that were not prepared 0."""
    kernel, _, three = _kernels()
    (values,) = one_after_other(params)
    out = np.zeros(prepared.data.kind.size)

    def run(group: Group) -> None:
        own = np.empty(group.which.size)
        if group.states == OFFSETS_AT:
            three.filter_some(prepared.data, group.which, values, own)
        else:
            kernel.filter_some(prepared.data, group.which, values, group.states, own)
        out[group.which] = own

    on_all_cores(run, prepared.shorter)
    return out


def last_states(prepared: Prepared, group: Group, params: PortfolioParams) -> tuple[Floats, Floats]:
    """Mean (3, M, n) and covariance (3, 3, M, n) of x, b and lam after the last event of a group, under M sets."""
    kernel, _, three = _kernels()
    sets, n = one_after_other(params), group.which.size
    mean, cov = np.empty((3, len(sets), n)), np.empty((3, 3, len(sets), n))
    if group.states == OFFSETS_AT:
        three.states_of_some(prepared.data, group.which, sets, mean, cov)
    else:
        kernel.states_of_some(prepared.data, group.which, sets, group.states, mean, cov)
    return mean, cov
