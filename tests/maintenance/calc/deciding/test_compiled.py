"""Programmes carried out by compiled code against the same by arrays: equal in all that becomes of any surface."""

import subprocess
import sys
from importlib import import_module

import numba
import numpy as np
import pytest

from clogging.api import CLEANING_METHODS, Drawn, Pace
from core.calc.paving import CleaningMethod
from maintenance.calc.deciding import compare, compiled, table
from maintenance.calc.deciding.compare import Surroundings, candidates, carry_out, frontier_table
from maintenance.calc.deciding.programmes import Programme
from maintenance.calc.deciding.simulate import Opening
from tests.maintenance.calc.deciding.setting import REFILL, RELAY, VACUUM, case, known

KERNELS = tuple(f"maintenance.calc.deciding.{name}" for name in ("kernel", "kernel_table"))
NAMES = ("clogging.kernel", "clogging.kernel_futures", *KERNELS)
FUTURES = 12


@pytest.fixture(scope="module")
def uncompiled():
    """The same functions as plain Python: what they compute shows without waiting for the compiler."""
    there = {name: sys.modules.pop(name, None) for name in NAMES}
    numba.config.DISABLE_JIT = True
    try:
        modules = tuple(import_module(name) for name in KERNELS)
    finally:
        numba.config.DISABLE_JIT = False
        for name, module in there.items():
            sys.modules.pop(name, None)
            if module is not None:
                sys.modules[name] = module
    return modules


@pytest.fixture
def as_python(uncompiled, monkeypatch):
    monkeypatch.setattr(compiled, "_kernels", lambda: uncompiled)


def some_surface(seed):
    """A surface unlike the others in all that a programme meets: shape, lasting loss, seasons, prices, doubt."""
    rng = np.random.default_rng([77, seed])
    one = known((rng.uniform(4.8, 6.3),), lam=rng.uniform(0.15, 0.9), sd=rng.uniform(0.1, 0.6))
    traits = one.traits._replace(
        pace=Pace(rng.uniform(-0.3, 0.4, 1), rng.uniform(0.0, 0.5, 1), rng.uniform(0.001, 0.05, 1)),
        source_sd=rng.uniform(0.0, 0.2, 1),
    )
    cov = one.cov.copy()
    cov[0, 2] = cov[2, 0] = 0.5 * np.sqrt(cov[0, 0] * cov[2, 2])
    made = case(
        below=rng.uniform(500.0, 40_000.0),
        test=rng.choice([0.0, 40.0, 300.0]),
        ask_first=rng.choice([1000.0, np.inf]),
        prices={VACUUM: 450.0, REFILL: rng.uniform(600.0, 4500.0), RELAY: rng.uniform(2000.0, 55_000.0)},
    )
    made.workable[:] &= rng.random(made.workable.shape) < 0.75
    made.workable[VACUUM, 1] = True
    made.testable[0] = False
    one = one._replace(cov=cov, traits=traits)
    around = Surroundings(
        1000.0,
        float(made.prices.below[0]) / 1000.0,
        rng.choice([0.1, 1.2, np.inf]),
        2,
        (1.5, 0.4),
        True,
        seed,
    )
    return one, futures_of(one, rng), made, around


def futures_of(one, rng):
    state = one.mean + np.linalg.cholesky(one.cov[..., 0]) @ rng.normal(size=(3, FUTURES))
    traits = one.traits.columns(np.zeros(FUTURES, dtype=int))
    pace = Pace(traits.pace.kappa + rng.normal(0.0, 0.1, FUTURES), *traits.pace[1:])
    return Drawn(state, traits._replace(pace=pace))


def both_ways(monkeypatch, work):
    """What work gives by arrays, and by the kernels."""
    found = []
    for asked in (0, compiled.MANY + 1):
        monkeypatch.setattr(compiled._Asked, "surfaces", asked)
        found.append(work())
    return found


def assert_same_outcome(arrays, kernels):
    for name, expected, got in zip(arrays._fields, arrays, kernels, strict=True):
        np.testing.assert_allclose(got, expected, rtol=1e-9, atol=1e-9, err_msg=name)


@pytest.mark.usefixtures("as_python")
@pytest.mark.parametrize("seed", range(8))
def test_every_programme_on_any_surface_comes_out_as_by_the_arrays(monkeypatch, seed):
    one, drawn, made, around = some_surface(seed)
    programmes = [programme for _, programme in candidates(made, around)]
    programmes.append(
        Programme(0.5, CleaningMethod.VACUUM, 0.4, CleaningMethod.JOINT_REFILL, test_every_yr=1.5)
    )
    levels, on = [i % 5 for i in range(len(programmes))], (one, drawn, made, frontier_table(one, made))

    arrays, kernels = both_ways(monkeypatch, lambda: carry_out(programmes, levels, on, around))

    assert arrays.works.any()
    assert arrays.rounds.any()
    assert_same_outcome(arrays, kernels)


@pytest.mark.usefixtures("as_python")
@pytest.mark.parametrize("step", [0, 3])
def test_what_comes_before_a_programme_comes_in_its_step_alone(monkeypatch, step):
    one, drawn, made, around = some_surface(20)
    rule = Programme(worth_m2_yr=around.worth_m2_yr, tests_when_due=True)
    on = (one, drawn, made, frontier_table(one, made))
    opening = Opening(np.array([VACUUM, RELAY, -1]), step)

    arrays, kernels = both_ways(monkeypatch, lambda: carry_out([rule] * 3, [2] * 3, on, around, opening))

    assert (arrays.first_yr.reshape(3, -1)[:2] == step / 4).all()
    assert_same_outcome(arrays, kernels)


@pytest.mark.usefixtures("as_python")
@pytest.mark.parametrize("surfaces", [1, 3])
def test_the_table_is_the_same(surfaces):
    made = case(n=surfaces, steps=4)
    made.workable[:, 0], made.testable[3] = False, False
    small = table.USUAL._replace(points=5, years=2)
    below = np.array([[1000.0] * surfaces, [9000.0] * surfaces])
    one = known(np.linspace(5.5, 7.0, surfaces), kappa=0.2)

    arrays, kernels = (
        table.solve(one, made, below=below, how=small, by=by) for by in (None, compiled.settle)
    )

    np.testing.assert_allclose(kernels.values, arrays.values, rtol=1e-12)


def test_compiled_it_gives_the_same_digits(monkeypatch):
    one, drawn, made, around = some_surface(40)

    def work():
        return compare.compare(one, drawn, made, frontier_table(one, made), around)

    arrays, kernels = both_ways(monkeypatch, work)

    assert kernels == arrays


def test_a_few_surfaces_do_not_load_the_compiler():
    lines = (
        "import sys",
        "from maintenance.calc.deciding import compare, compiled",
        "for _ in range(compiled.MANY): compiled.note_surface()",
        "few = compiled.is_worth_loading()",
        "compiled.note_surface()",
        "print(few, compiled.is_worth_loading(), 'numba' in sys.modules)",
    )

    said = subprocess.run(
        [sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True
    )

    assert said.stdout.split() == ["False", "True", "False"]


def test_what_a_cleaning_gives_is_handed_over_method_by_method():
    traits = known((6.0, 7.0)).traits
    traits.share[:] = np.arange(len(CLEANING_METHODS))[:, None] + np.array([0.0, 0.5])

    given = compiled.nature_of(traits).given

    assert given[1, :, 0].tolist() == [method + 0.5 for method in range(len(CLEANING_METHODS))]
    assert given[0, RELAY].tolist() == [RELAY, 0.05, 0.2, 8.5, 0.3]
