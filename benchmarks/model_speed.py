"""Speed of the clogging model against the state-space filter of statsmodels, in one run.

    python -m benchmarks.model_speed [--surfaces 100000]

The usual and harder case first: three fixed spots a round, cleanings, one round in fifty with a bound. Filter of many
surfaces of ten events each, and statsmodels' compiled filter on a sample of the same with equal log-likelihoods; full
fit and every surface's ranges; refresh of one surface; growth with the number of surfaces. Processor seconds stand
beside those on the wall, since a busy machine stretches the latter.
"""

from __future__ import annotations

import argparse
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import NamedTuple, TypeVar
from unittest import mock

import numpy as np
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from clogging import compiled
from clogging.blocks import Block, build_blocks
from clogging.calibration_study import ring_only
from clogging.coefficients import coefficients
from clogging.filtering import log_likelihood, run_to_end
from clogging.fitting import PortfolioFit, fit_table
from clogging.forecast import forecast_surface
from clogging.layout import flatten
from clogging.packing import StepTable
from clogging.parameters import PRIOR_MEAN, to_params
from clogging.portfolio import outlook_of_table
from clogging.simulate import World, draw_plan, simulate, to_histories, to_table
from clogging.types import RoundEvent, SpotTest, SurfaceHistory

N_EVENTS = 10
SAMPLE = 200
FIRST = 6_000  # surfaces, enough for compiled code
PARAMS = to_params(PRIOR_MEAN)
DESIGN = np.array([[1.0, 0.0, 0.0]])
IDENTITY = np.eye(3)

Result = TypeVar("Result")


def timed(task: Callable[[], Result], repeats: int = 1) -> tuple[float, Result]:
    """Shortest of some runs in seconds, and the result of the last."""
    best = np.inf
    for _ in range(repeats):
        begun = time.perf_counter()
        result = task()
        best = min(best, time.perf_counter() - begun)
    return best, result


def processor_seconds(task: Callable[[], object]) -> float:
    """Seconds of all cores together."""
    begun = time.process_time()
    task()
    return time.process_time() - begun


def portfolio(n_surfaces: int) -> World:
    """An invented portfolio of ring tests."""
    rng = np.random.default_rng(7)
    return simulate(rng, ring_only(draw_plan(rng, n_surfaces, N_EVENTS, types=9)), PARAMS)


def with_fixed_spots(history: SurfaceHistory, rng: np.random.Generator) -> SurfaceHistory:
    """The same rounds, each a test at the same three spots; one in fifty has a spot too fast for the test."""
    offsets = rng.normal(0.0, 0.4, 3)

    def at_spots(event: RoundEvent) -> RoundEvent:
        level = np.log(event.tests[0].rate_mm_h)
        rates = np.exp(level + offsets + rng.normal(0.0, 0.3, 3))
        tests = [SpotTest(max(float(rate), 20.0), "=", f"spot {i}") for i, rate in enumerate(rates)]
        if rng.random() < 0.02:
            tests[0] = tests[0]._replace(bound=">")
        return event._replace(tests=tuple(tests))

    events = tuple(at_spots(e) if isinstance(e, RoundEvent) else e for e in history.events)
    return history._replace(events=events)


def repeat(table: StepTable, times: int) -> StepTable:
    """A portfolio of so many copies of every surface."""
    steps = np.diff(table.first)
    return StepTable(
        np.tile(table.surface_type, times),
        np.tile(table.z, (times, 1)),
        np.concatenate([[0], np.cumsum(np.tile(steps, times))]),
        np.tile(table.rows, (times, 1)),
        table.offset_var * times,
        np.tile(table.spots, (times, 1)),
    )


def print_fixed_spots(n_surfaces: int) -> None:
    """Fit and ranges of surfaces with three fixed spots against as many without."""
    rng, base = np.random.default_rng(8), min(n_surfaces, 2_000)
    plain = to_histories(portfolio(base))
    spots = [with_fixed_spots(history, rng) for history in plain]
    last = np.tile([history.events[-1].t_yr for history in plain], n_surfaces // base)
    begun = {}
    few = repeat(flatten(spots), FIRST // base)
    compiling = processor_seconds(lambda: time_fit(few, last[:FIRST]))
    print(f"first fit of {FIRST}, compiling what a server keeps from then on: processor {compiling:.1f} s")
    for name, histories in (("three fixed spots and bounds", spots), ("spots chosen each day", plain)):
        lay_out, table = timed(lambda histories=histories: flatten(histories), repeats=3)  # type: ignore[misc]
        used = time.process_time()
        fit_seconds, range_seconds, _ = time_fit(repeat(table, n_surfaces // base), last)
        begun[name] = time.process_time() - used
        print(
            f"{name:<30} {n_surfaces} surfaces: fit {fit_seconds:.2f} s, ranges {range_seconds:.2f} s, "
            f"processor {begun[name]:.2f} s; laid out {1e6 * lay_out / base:.0f} us a history"
        )
    hard, easy = begun.values()
    print(f"a surface with fixed spots costs {hard / easy:.1f} times one without\n")


def forget_memory() -> None:
    """Have the most memory held counted from now on."""
    Path("/proc/self/clear_refs").write_text("5")


def memory_gb() -> float:
    """The most memory held since it was counted from anew."""
    (line,) = re.findall(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text())
    return int(line) / 1024.0**2


@contextmanager
def one_thread() -> Iterator[None]:
    """Work on one core only, as the other program does."""
    with mock.patch("os.cpu_count", return_value=1):
        yield


class Reference(NamedTuple):
    """Surfaces as time-varying state spaces of (x, b, lam) for the other program, by surface in the first axis."""

    y: np.ndarray  # (S, 1, J), NaN where nothing was read
    transition: np.ndarray  # (S, 3, 3, J) from each period to the next
    intercept: np.ndarray  # (S, 3, J)
    state_cov: np.ndarray  # (S, 3, 3, J)
    obs_cov: np.ndarray  # (S, 1, 1, J)
    mean: np.ndarray  # (S, 3) at the first period
    cov: np.ndarray  # (S, 3, 3)


def reference_matrices(block: Block) -> Reference:
    """The other program moves the state after each period, ours before each step."""
    c = coefficients(block, PARAMS)
    n_steps, n = block.t.shape
    move = np.broadcast_to(np.eye(3)[:, :, None, None], (3, 3, n_steps, n)).copy()
    noise = np.zeros((3, 3, n_steps, n))
    shift = np.zeros((3, n_steps, n))
    move[0] = np.stack(c.move[:3])
    move[1, 2], noise[0, 0] = -c.move.sink, c.move.noise
    for j, change in enumerate(c.changes):
        at = change.columns
        move[:, :, j, at] *= change.scale[:, None]
        noise[:, :, j, at] = noise[:, :, j, at] * change.scale[:, None] * change.scale + change.cov
        shift[:, j, at] = change.shift
    first = move[:, :, 0]
    start = np.einsum("ijs,jks,lks->sil", first, c.cov0, first) + noise[:, :, 0].transpose(2, 0, 1)
    following = np.roll(move, -1, axis=2).transpose(3, 0, 1, 2).copy()
    later = np.roll(noise, -1, axis=2).transpose(3, 0, 1, 2).copy()
    y = np.where(block.code > 0, block.y, np.nan).T[:, None].copy()
    mean = np.einsum("ijs,js->si", first, c.mean0) + shift[:, 0].T
    shifts = np.roll(shift, -1, axis=1).transpose(2, 0, 1).copy()
    return Reference(y, following, shifts, later, c.reading_var.T[:, None, None].copy(), mean, start)


def set_up(reference: Reference, i: int) -> KalmanFilter:
    """One surface's filter with its matrices in place, as each likelihood at new parameters needs."""
    kf = KalmanFilter(k_endog=1, k_states=3)
    kf.bind(reference.y[i])
    kf["design"] = DESIGN
    kf["selection"] = IDENTITY
    kf["transition"], kf["state_cov"] = reference.transition[i], reference.state_cov[i]
    kf["obs_cov"], kf["state_intercept"] = reference.obs_cov[i], reference.intercept[i]
    kf.initialize_known(reference.mean[i], reference.cov[i])
    return kf


def compare_filters(table: StepTable) -> None:
    """Time a surface of both filters, and the largest difference of their log-likelihoods."""
    n, prepared = table.surface_type.size, compiled.prepare(table)
    compiled.log_likelihood(prepared, PARAMS)  # the compiler's work is not the filter's
    with one_thread():
        seconds = min(processor_seconds(lambda: compiled.log_likelihood(prepared, PARAMS)) for _ in range(7))
    blocks = build_blocks(table)
    arrays = min(
        processor_seconds(lambda: [log_likelihood(block, PARAMS) for block in blocks]) for _ in range(3)
    )
    sample = build_blocks(table, np.linspace(0, n - 1, SAMPLE).astype(np.int64))[0]
    ours = run_to_end(sample, coefficients(sample, PARAMS)).loglik
    reference = reference_matrices(sample)
    filters = [set_up(reference, i) for i in range(SAMPLE)]
    theirs = np.array([kf.loglike() for kf in filters])
    bare_seconds = min(processor_seconds(lambda: [kf.loglike() for kf in filters]) for _ in range(7))
    full_seconds = min(
        processor_seconds(lambda: [set_up(reference, i).loglike() for i in range(SAMPLE)]) for _ in range(7)
    )
    ours_us, bare_us, full_us = 1e6 * seconds / n, 1e6 * bare_seconds / SAMPLE, 1e6 * full_seconds / SAMPLE
    print(f"log-likelihood at new parameters, {n} surfaces of {N_EVENTS} events, one thread, us a surface")
    print(f"  ours, from the portfolio parameters on            {ours_us:9.3f}")
    print(f"  the same by arrays, without compiling             {1e6 * arrays / n:9.3f}")
    print(f"  statsmodels, ready matrices put in, then run  {full_us:9.3f}   {full_us / ours_us:6.0f} x")
    print(f"  statsmodels, its compiled loop alone          {bare_us:9.3f}   {bare_us / ours_us:6.0f} x")
    print(f"  largest relative difference of log-likelihoods {np.max(np.abs(ours / theirs - 1.0)):.1e}")


def time_fit(table: StepTable, last_yr: np.ndarray) -> tuple[float, float, PortfolioFit]:
    """Seconds of the fit, seconds of every surface's ranges today and a year on, and the fit."""
    limit = np.full(table.surface_type.size, 250.0)
    fit_seconds, fit = timed(lambda: fit_table(table))
    seconds, _ = timed(
        lambda: outlook_of_table(table, fit, now_yr=last_yr, limit_mm_h=limit, ahead_yr=(0.0, 1.0))
    )
    return fit_seconds, seconds, fit


def refresh(history: SurfaceHistory, fit: PortfolioFit, repeats: int = 20) -> tuple[float, float]:
    """Milliseconds to forecast one surface anew after one more reading, and when the same is asked for again."""
    last = history.events[-1].t_yr + 0.5

    def forecast(rate_mm_h: float) -> None:
        reading = RoundEvent(last, "ring", (SpotTest(rate_mm_h),))
        forecast_surface(
            history._replace(events=(*history.events, reading)), fit, now_yr=last, limit_mm_h=250.0
        )

    # Each time another reading: what was filtered last is kept, and would be found.
    anew = min(timed(partial(forecast, 900.0 + i))[0] for i in range(repeats))
    forecast(900.0)
    again, _ = timed(lambda: forecast(900.0), repeats)
    return 1e3 * anew, 1e3 * again


def print_growth(largest: int) -> None:
    """Time and memory from 1,000 surfaces up; memory is the most held from the laid out table on."""
    print(
        f"\n{'surfaces':>10} {'lay out s':>10} {'fit s':>8} {'ranges s':>9} {'us a surface':>13} {'memory GB':>10}"
    )
    n = 1_000
    while n <= largest:
        world = portfolio(n)
        table, last = to_table(world), world.plan.t_yr[-1]
        del world
        lay_out, _ = timed(lambda table=table: compiled.prepare(table))  # type: ignore[misc]
        forget_memory()
        fit_seconds, range_seconds, _ = time_fit(table, last)
        each = 1e6 * (fit_seconds + range_seconds) / n
        print(
            f"{n:>10} {lay_out:>10.3f} {fit_seconds:>8.2f} {range_seconds:>9.2f} {each:>13.1f} {memory_gb():>10.2f}",
            flush=True,
        )
        n *= 10


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--surfaces", type=int, default=100_000)
    parser.add_argument("--largest", type=int, default=1_000_000, help="end of the growth table")
    options = parser.parse_args()
    print_fixed_spots(options.surfaces)
    world = portfolio(options.surfaces)
    table = to_table(world)
    compare_filters(table)
    fit_seconds, range_seconds, fit = time_fit(table, world.plan.t_yr[-1])
    print(
        f"full fit {fit_seconds:.2f} s ({fit.message}) and all ranges {range_seconds:.2f} s, {memory_gb():.2f} GB"
    )
    histories = to_histories(portfolio(5_000))
    seconds, _ = timed(lambda: flatten(histories))
    print(f"laying out histories of objects {1e6 * seconds / len(histories):.1f} us a surface")
    anew, again = refresh(histories[0], fit)
    print(
        f"refresh of one surface after a reading {anew:.1f} ms; its forecast asked for again {again:.1f} ms"
    )
    print_growth(options.largest)


if __name__ == "__main__":
    main()
