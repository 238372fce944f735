"""When programmes are carried out by compiled code, and how what numpy holds is handed to it.

A process that thinks through a few surfaces, a page or a command, goes by numpy; a worker, or the night, is worth the
loading.
"""

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from clogging import compiled as clogging_compiled
from clogging.api import Drawn, Known
from core.calc.compiling import load_compiled
from maintenance.calc.deciding.handing_over import (
    LANES,
    Luck,
    Span,
    lookup_of,
    matrices_of,
    nature_of,
    orders_of,
    site_of,
)
from maintenance.calc.deciding.problem import Case, Floats
from maintenance.calc.deciding.programmes import Programme
from maintenance.calc.deciding.simulate import Opening, Outcome, empty_outcome, luck_of
from maintenance.calc.deciding.table import Steps, Table

MANY = 40  # surfaces from which on a process is worth the loading
_NAMES = ("handing_over.py", "kernel.py", "kernel_table.py", "problem.py", "rule.py", "table.py")
_HERE = Path(__file__).parent
_MADE_FROM = (
    *clogging_compiled.MADE_FROM,
    *(_HERE / name for name in _NAMES),
    _HERE.parent / "suitability.py",  # which methods restore is frozen into what is compiled
)


class _Asked:
    """How many surfaces this process has thought through."""

    surfaces = 0


def note_surface() -> None:
    """Count a surface that is thought through in this process."""
    _Asked.surfaces += 1


def is_worth_loading() -> bool:
    """Whether so many surfaces were thought through here that more can be expected."""
    return _Asked.surfaces > MANY


@lru_cache(maxsize=1)
def _kernels() -> tuple[Any, Any]:
    """The modules `kernel` and `kernel_table`, loaded on first use."""
    here = __name__.rpartition(".")[0]
    kernel, table = load_compiled((f"{here}.kernel", f"{here}.kernel_table"), _MADE_FROM)
    return kernel, table


def settle(steps: Steps, years: int) -> Floats:
    """As `table.settle`, of up to LANES prices of time below."""
    _, kernel = _kernels()
    n, levels = steps.below.shape
    below = np.zeros((n, LANES))
    below[:, :levels] = steps.below
    values = np.empty((steps.paid.shape[1], n, levels, len(steps.paid) + 1))
    kernel.settle(steps.paid, matrices_of(steps), below, steps.beta, years, steps.block, values)
    return values


def carry_out(
    programmes: Sequence[Programme],
    levels: Sequence[int],
    on: tuple[Known, Drawn, Case, Table],
    span: Span,
    seed: int,
    opening: Opening | None = None,
) -> Outcome:
    """As `simulate` in the world of the model: P programmes on the F futures of one surface, P * F columns.

    levels: the price of time each decides by; opening: what each begins with, (P,)
    """
    kernel, _ = _kernels()
    known, drawn, case, table = on
    futures = drawn.state.shape[1]
    out = empty_outcome(span.years, len(programmes) * futures)
    kernel.carry_out(
        site_of(case),
        known.mean[:, 0],
        np.ascontiguousarray(known.cov[:, :, 0]),
        nature_of(known.traits),
        np.ascontiguousarray(drawn.state),
        nature_of(drawn.traits),
        Luck(*luck_of(seed, span.years * case.steps_a_year, futures)),
        orders_of(programmes, levels, case, span.years, opening),
        lookup_of(table),
        span,
        out,
    )
    return out
