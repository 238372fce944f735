"""Pads the flat table of steps into blocks of arrays, one column a surface."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .layout import flatten
from .packing import EXACT, NO_READING, STEP_AT, Floats, Ints, StepTable
from .types import CLEANING_METHODS, RENEWING_METHODS, SurfaceHistory

OFFSETS_AT = 3  # place of the first constant offset; a day effect, where there is one, comes last
COLUMNS_A_BLOCK = 8192  # with three states; what stays in the processor's cache, found by trial

_WHOLE = ("event", "cleaning", "code", "method", "source")
_WHOLE_AT = [STEP_AT[name] for name in _WHOLE]
_RENEWS = np.array(
    [*(method in RENEWING_METHODS for method in CLEANING_METHODS), False]
)  # the last: no cleaning
_REAL = ("share", "wet", "y", "inv_n", "named", "day", "reset", "fixed_var")
_PADDING = np.zeros(len(STEP_AT))
_PADDING[
    [STEP_AT[name] for name in ("event", "cleaning", "method", "source", "method_slot", "location_slot")]
] = -1.0


class Block(NamedTuple):
    """Up to COLUMNS_A_BLOCK surfaces with states of one size: N columns, J steps, D states, K offsets.

    Every (J, N) array holds one column of Step. Padding steps take no time and read nothing.
    """

    surfaces: Ints  # (N,) place of each column in the list that was packed
    surface_type: Ints  # (N,)
    z: Floats  # (5, N)
    n_states: int  # D: 3 + K offsets, and one more with a day effect
    has_day: bool  # the last state is a day effect
    has_bounds: bool  # some reading is an inequality
    has_offsets: bool  # some reading is by another method than the ring
    dt: Floats  # (J, N) years since the step before
    t: Floats
    event: Ints
    cleaning: Ints
    source: Ints
    changed: tuple[Ints, ...]  # per step, the columns whose layer is renewed or whose source changes
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
    adds: tuple[int, ...]  # the states every reading adds up, where it is the same ones throughout
    reads: Floats | None  # (J, D, N) the states each reading adds up, where it is not
    offset_var: Floats  # (K, N) known variance of an offset, 0 where it is a location
    offset_named: (
        Floats  # (K, N) the part of a fixed location's variance in it: 1 for one, 1 / n for the mean of n
    )
    degrees: Floats  # (2, N) tests beyond the first in each mean: at chosen spots, at fixed locations
    squares: Floats  # (2, N) sum of squares about those means
    log_n: Floats  # (N,) sum of log n over the means
    spots: Floats  # (3, N) columns of StepTable.spots

    @property
    def n_columns(self) -> int:
        return self.surfaces.size


class _Padded(NamedTuple):
    """The steps of some surfaces side by side: columns (20, J, N) of Step, and which of them only fill up (J, N)."""

    columns: Floats
    padding: NDArray[np.bool_]

    def of(self, name: str) -> Floats:
        """(J, N) one column of Step."""
        return self.columns[STEP_AT[name]]


def _padded(table: StepTable, surfaces: Ints) -> _Padded:
    """Steps laid side by side; padding reads nothing and stands still at the last step."""
    begins = table.first[surfaces]
    counts = table.first[surfaces + 1] - begins
    steps = np.arange(int(counts.max(initial=0)))[:, None]
    padding = steps >= counts
    if not padding.any():
        columns = table.rows.T[:, begins + steps]
    else:
        rows = np.concatenate([table.rows, _PADDING[None]])
        columns = rows.T[:, np.where(padding, len(table.rows), begins + steps)]
        t = columns[STEP_AT["t_yr"]]
        np.maximum.accumulate(t, axis=0, out=t)
    return _Padded(columns, padding)


class _Size(NamedTuple):
    """What surfaces must share to stand in one block."""

    n_offsets: int
    has_day: bool
    one_offset: bool  # every reading adds the first offset to x, and no other

    @property
    def n_states(self) -> int:
        return OFFSETS_AT + self.n_offsets + self.has_day


def _reads(steps: _Padded, size: _Size) -> Floats | None:
    """(J, D, N) weight of each state in a reading."""
    if size.n_states == OFFSETS_AT or size.one_offset:
        return None
    n_steps, columns = steps.padding.shape
    reads = np.zeros((n_steps, size.n_states, columns))
    reads[:, 0] = 1.0
    if size.has_day:
        reads[:, -1] = steps.of("uses_day")
    for name in ("method_slot", "location_slot"):
        slot = steps.of(name).astype(np.int64)
        step, column = np.nonzero(slot >= 0)
        reads[step, OFFSETS_AT + slot[step, column], column] = 1.0
    return reads


def _offsets(table: StepTable, surfaces: Ints, n_offsets: int) -> tuple[Floats, Floats]:
    """(K, N) known variances, and the part of a fixed location's variance."""
    rows = [table.offset_var[i] for i in surfaces] if n_offsets else []
    variances = (
        np.array(rows, dtype=float).reshape(surfaces.size, n_offsets).T
        if rows
        else np.zeros((0, surfaces.size))
    )
    return np.maximum(variances, 0.0), np.maximum(-variances, 0.0)


def _within(
    n: Floats, df: Floats, ss: Floats, named: Floats, exact: NDArray[np.bool_]
) -> tuple[Floats, Floats, Floats]:
    """Degrees of freedom, squares and log n of the means, for spots chosen that day and fixed locations."""
    log_n = np.where(exact, np.log(np.maximum(n, 1.0)), 0.0).sum(0)
    chosen = 1.0 - named
    return (
        np.stack([(df * chosen).sum(0), (df * named).sum(0)]),
        np.stack([(ss * chosen).sum(0), (ss * named).sum(0)]),
        log_n,
    )


def _build(table: StepTable, surfaces: Ints, size: _Size) -> Block:
    steps = _padded(table, surfaces)
    t = steps.of("t_yr")
    whole = dict(zip(_WHOLE, steps.columns[_WHOLE_AT].astype(np.int64), strict=True))
    columns = {name: steps.of(name) for name in _REAL}
    code = whole["code"]
    columns["fixed_var"] = columns["fixed_var"] + (code == NO_READING)
    exact = code == EXACT
    tests = (steps.of("n"), steps.of("df"), steps.of("ss"))
    degrees, squares, log_n = _within(*tests, columns["named"], exact)
    offset_var, offset_named = _offsets(table, surfaces, size.n_offsets)
    changed = _RENEWS[whole["cleaning"]] | (whole["source"] >= 0)
    return Block(
        surfaces=surfaces,
        surface_type=table.surface_type[surfaces],
        z=np.ascontiguousarray(table.z[surfaces].T),
        n_states=size.n_states,
        has_day=size.has_day,
        adds=(0, OFFSETS_AT) if size.one_offset else (0,),
        has_bounds=bool((code > EXACT).any()),
        has_offsets=bool((whole["method"] > 0).any()),
        exact=exact.astype(float),
        changed=tuple(np.flatnonzero(row) for row in changed),
        dt=np.diff(t, axis=0, prepend=0.0),
        t=t,
        reads=_reads(steps, size),
        offset_var=offset_var,
        offset_named=offset_named,
        degrees=degrees,
        squares=squares,
        log_n=log_n,
        spots=np.ascontiguousarray(table.spots[surfaces].T),
        **columns,  # type: ignore[arg-type]
        **whole,  # type: ignore[arg-type]
    )


def _per_surface(table: StepTable, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(S,) whether any of a surface's rows is marked."""
    counts = np.concatenate([[0], np.cumsum(rows)])
    return counts[table.first[1:]] > counts[table.first[:-1]]


def _sizes(table: StepTable) -> Ints:
    """(S,) the fields of _Size each surface needs, as one number."""
    offsets = np.array([len(v) for v in table.offset_var], dtype=np.int64)
    uses_day, code, location, method = (
        table.rows[:, STEP_AT[name]] for name in ("uses_day", "code", "location_slot", "method_slot")
    )
    has_day = _per_surface(table, uses_day > 0)
    if not offsets.any():
        return 4 * offsets + 2 * has_day
    other = (code > 0) & ((location != 0) | (method >= 0))
    one_offset = (offsets == 1) & ~has_day & ~_per_surface(table, other)
    return 4 * offsets + 2 * has_day + one_offset


def build_blocks(table: StepTable, only: Ints | None = None) -> list[Block]:
    """Group surfaces by size of state and number of steps, and pad each group. only: (n,) surfaces to take."""
    chosen = np.arange(table.surface_type.size) if only is None else only
    if not chosen.size:
        return []
    sizes, counts, blocks = _sizes(table)[chosen], np.diff(table.first), []
    for kind in np.unique(sizes).tolist():
        size = _Size(kind // 4, bool(kind & 2), bool(kind & 1))
        group = chosen[sizes == kind]
        group = group[np.argsort(counts[group], kind="stable")]
        width = max(64, COLUMNS_A_BLOCK * 9 // size.n_states**2)
        blocks += [_build(table, group[i : i + width], size) for i in range(0, group.size, width)]
    return blocks


def pack(histories: Sequence[SurfaceHistory]) -> list[Block]:
    """Checked histories as blocks, ready for the filter. Raises ImpossibleRecordError as `flatten` does."""
    return build_blocks(flatten(histories))


def tile(block: Block, times: int) -> Block:
    """The block's columns repeated, for as many parameter sets side by side (all surfaces, then again)."""
    if times == 1:
        return block
    fixed = {"n_states", "has_day", "has_bounds", "has_offsets", "adds", "reads", "changed"}
    tiled = {name: _beside(value, times) for name, value in block._asdict().items() if name not in fixed}
    reads = None if block.reads is None else _beside(block.reads, times)
    starts = block.n_columns * np.arange(times)[:, None]
    changed = tuple((starts + columns).ravel() if columns.size else columns for columns in block.changed)
    return block._replace(reads=reads, changed=changed, **tiled)  # type: ignore[arg-type]


def _beside(values: Floats, times: int) -> Floats:
    """(..., N) so many times side by side."""
    if values.shape[-1] == 1:
        return values.repeat(times, axis=-1)
    return np.tile(values, (1,) * (values.ndim - 1) + (times,))
