"""Pads the flat table of steps into blocks of arrays, one column a surface."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from . import priors
from .packing import EXACT, NO_READING, STEP_AT, Floats, Ints, StepTable, flatten
from .types import SurfaceHistory

DAY_STATE = 3  # place of the day effect in a state larger than three
COLUMNS_A_BLOCK = 8192  # with three states; what stays in the processor's cache, found by trial

_WHOLE = ("event", "cleaning", "code", "method")
_REAL = ("share", "wet", "y", "inv_n", "named", "day", "reset", "fixed_var")


class Block(NamedTuple):
    """Up to COLUMNS_A_BLOCK surfaces with states of one size: N columns, J steps, D states, K offsets.

    Every (J, N) array holds one column of Step. Padding steps take no time and read nothing.
    """

    surfaces: Ints  # (N,) place of each column in the list that was packed
    surface_type: Ints  # (N,)
    z: Floats  # (5, N)
    n_states: int  # D: 3, or 4 + K with a day effect at DAY_STATE and the offsets after it
    has_bounds: bool  # some reading is an inequality
    has_offsets: bool  # some reading is by another method than the ring
    log_age: Floats  # (J, N) log(t / CLOCK_REFERENCE_YR), -inf at opening
    dt: Floats  # (J, N) years since the step before
    t: Floats
    event: Ints
    cleaning: Ints
    code: Ints
    method: Ints
    share: Floats
    wet: Floats
    y: Floats
    inv_n: Floats
    named: Floats
    day: Floats
    reset: Floats
    fixed_var: Floats  # known part of a reading's variance: a method offset met once; 1 where nothing is read
    exact: Floats  # 1 where the reading is a value
    reads: Floats | None  # (J, D, N) the states a reading adds up; None when D is 3: x alone
    offset_var: Floats  # (K, N) known variance of an offset, 0 where it is a location
    offset_named: Floats  # (K, N) 1 where the offset is a fixed location
    degrees: Floats  # (2, N) tests beyond the first in each mean: at chosen spots, at fixed locations
    squares: Floats  # (2, N) sum of squares about those means
    log_n: Floats  # (N,) sum of log n over the means

    @property
    def n_columns(self) -> int:
        return self.surfaces.size


def _column(table: StepTable, name: str, index: Ints, padding: NDArray[np.bool_], fill: float) -> Floats:
    values = table.rows[:, STEP_AT[name]]
    out = values[index] if len(values) else np.zeros(index.shape)
    out[padding] = fill
    return out


def _times(table: StepTable, index: Ints, padding: NDArray[np.bool_]) -> Floats:
    """(J, N) years since opening; padding stands still at the last step."""
    t = _column(table, "t_yr", index, padding, 0.0)
    return np.maximum.accumulate(t, axis=0) if len(t) else t


def _reads(table: StepTable, index: Ints, padding: NDArray[np.bool_], n_states: int) -> Floats | None:
    """(J, D, N) weight of each state in a reading."""
    if n_states == 3:
        return None
    reads = np.zeros((index.shape[0], n_states, index.shape[1]))
    reads[:, 0] = 1.0
    reads[:, DAY_STATE] = _column(table, "uses_day", index, padding, 0.0)
    for name in ("method_slot", "location_slot"):
        slot = _column(table, name, index, padding, -1).astype(np.int64)
        step, column = np.nonzero(slot >= 0)
        reads[step, DAY_STATE + 1 + slot[step, column], column] = 1.0
    return reads


def _offsets(table: StepTable, surfaces: Ints, n_offsets: int) -> tuple[Floats, Floats]:
    """(K, N) known variances, and 1 where the offset is a fixed location."""
    rows = [table.offset_var[i] for i in surfaces] if n_offsets else []
    variances = (
        np.array(rows, dtype=float).reshape(surfaces.size, n_offsets).T
        if rows
        else np.zeros((0, surfaces.size))
    )
    return np.nan_to_num(variances, nan=0.0), np.isnan(variances).astype(float)


def _within(n: Floats, ss: Floats, named: Floats, exact: NDArray[np.bool_]) -> tuple[Floats, Floats, Floats]:
    """Degrees of freedom, squares and log n of the means, for spots chosen that day and fixed locations."""
    several = exact & (n > 1.0)
    degrees = np.where(several, n - 1.0, 0.0)
    log_n = np.where(several, np.log(np.maximum(n, 1.0)), 0.0).sum(0)
    squares = np.where(several, ss, 0.0)
    chosen = 1.0 - named
    return (
        np.stack([(degrees * chosen).sum(0), (degrees * named).sum(0)]),
        np.stack([(squares * chosen).sum(0), (squares * named).sum(0)]),
        log_n,
    )


def _build(table: StepTable, surfaces: Ints, n_states: int) -> Block:
    counts = table.first[surfaces + 1] - table.first[surfaces]
    steps = np.arange(int(counts.max(initial=0)))[:, None]
    padding = steps >= counts
    index = np.where(padding, 0, table.first[surfaces] + steps)
    t = _times(table, index, padding)
    fill = dict.fromkeys(("event", "cleaning", "method"), -1.0)
    columns = {
        name: _column(table, name, index, padding, fill.get(name, 0.0))
        for name in (*_WHOLE, *_REAL, "n", "ss")
    }
    whole = {name: columns.pop(name).astype(np.int64) for name in _WHOLE}
    columns["fixed_var"] += whole["code"] == NO_READING
    n, ss = columns.pop("n"), columns.pop("ss")
    degrees, squares, log_n = _within(n, ss, columns["named"], whole["code"] == EXACT)
    offset_var, offset_named = _offsets(table, surfaces, max(n_states - DAY_STATE - 1, 0))
    with np.errstate(divide="ignore"):
        log_age = np.log(t / priors.CLOCK_REFERENCE_YR)
    return Block(
        surfaces=surfaces,
        surface_type=table.surface_type[surfaces],
        z=np.ascontiguousarray(table.z[surfaces].T),
        n_states=n_states,
        has_bounds=bool((whole["code"] > EXACT).any()),
        has_offsets=bool((whole["method"] > 0).any()),
        exact=(whole["code"] == EXACT).astype(float),
        log_age=log_age,
        dt=np.diff(t, axis=0, prepend=0.0),
        t=t,
        reads=_reads(table, index, padding, n_states),
        offset_var=offset_var,
        offset_named=offset_named,
        degrees=degrees,
        squares=squares,
        log_n=log_n,
        **columns,  # type: ignore[arg-type]
        **whole,  # type: ignore[arg-type]
    )


def _state_sizes(table: StepTable) -> Ints:
    """(S,) states each surface needs."""
    offsets = np.array([len(v) for v in table.offset_var], dtype=np.int64)
    days = np.concatenate([[0.0], np.cumsum(table.rows[:, STEP_AT["uses_day"]])])
    shares_a_day = days[table.first[1:]] > days[table.first[:-1]]
    return np.where((offsets > 0) | shares_a_day, DAY_STATE + 1 + offsets, 3)


def build_blocks(table: StepTable, only: Ints | None = None) -> list[Block]:
    """Group surfaces by size of state and number of steps, and pad each group. only: (n,) surfaces to take."""
    sizes = _state_sizes(table)
    counts = np.diff(table.first)
    chosen = np.arange(sizes.size) if only is None else only
    blocks = []
    for n_states in np.unique(sizes[chosen]):
        group = chosen[sizes[chosen] == n_states]
        group = group[np.argsort(counts[group], kind="stable")]
        width = max(64, COLUMNS_A_BLOCK * 9 // int(n_states) ** 2)
        blocks += [_build(table, group[i : i + width], int(n_states)) for i in range(0, group.size, width)]
    return blocks


def pack(histories: Sequence[SurfaceHistory]) -> list[Block]:
    """Checked histories as blocks, ready for the filter. Raises ImpossibleRecordError as `flatten` does."""
    return build_blocks(flatten(histories))


def tile(block: Block, times: int) -> Block:
    """The block's columns repeated, for as many parameter sets side by side (all surfaces, then again)."""
    if times == 1:
        return block
    fixed = {"n_states", "has_bounds", "has_offsets", "reads"}
    tiled = {
        name: np.tile(value, (1,) * (value.ndim - 1) + (times,))
        for name, value in block._asdict().items()
        if name not in fixed
    }
    reads = None if block.reads is None else np.tile(block.reads, (1, 1, times))
    return block._replace(reads=reads, **tiled)  # type: ignore[arg-type]
