"""The compiled filter against the one of arrays: the same digits for any record, the same fit of a large portfolio."""

import subprocess
import sys
from importlib import import_module

import numba
import numpy as np
import pytest
from scipy.special import erfcx, log_ndtr

from clogging import compiled, fitting, portfolio
from clogging.blocks import build_blocks
from clogging.coefficients import coefficients
from clogging.filtering import log_likelihood, run_to_end
from clogging.gradient import portfolio_loglik_gradient
from clogging.layout import flatten
from clogging.parameters import PortfolioParams, one_after_other, taken_apart, to_params
from clogging.types import CleaningEvent

from .test_gradient import PORTFOLIO
from .test_random_records import random_history
from .worlds import SPOTS, some_vector

NAMES = ("clogging.kernel", "clogging.kernel_gradient", "clogging.kernel_three")


@pytest.fixture(scope="module")
def uncompiled():
    """The same functions as plain Python: what they compute shows without waiting for the compiler."""
    there = {name: sys.modules.pop(name, None) for name in NAMES}
    numba.config.DISABLE_JIT = True
    try:
        modules = tuple(import_module(name) for name in NAMES)
    finally:
        numba.config.DISABLE_JIT = False
        for name, module in there.items():
            sys.modules.pop(name)
            if module is not None:
                sys.modules[name] = module
    return modules


@pytest.fixture
def as_python(uncompiled, monkeypatch):
    monkeypatch.setattr(compiled, "_kernels", lambda: uncompiled)


def records(seed, n=8):
    rng = np.random.default_rng(700 + seed)
    return flatten([*PORTFOLIO, *(random_history(rng, bounds=True) for _ in range(n))])


def assert_same_gradient(table, vector):
    loglik, gradient = compiled.loglik_gradient(compiled.prepare(table), vector)
    expected_loglik, expected = portfolio_loglik_gradient(build_blocks(table), vector)
    np.testing.assert_allclose(loglik, expected_loglik, rtol=1e-12)
    np.testing.assert_allclose(gradient, expected, rtol=1e-9, atol=1e-12 * np.abs(expected).max())


def assert_same_states(table, params):
    prepared, seen = compiled.prepare(table), 0
    for block in build_blocks(table):
        end = run_to_end(block, coefficients(block, params))
        group = compiled.Group(block.surfaces, block.n_states)
        mean, cov = compiled.last_states(prepared, group, params)
        np.testing.assert_allclose(mean[:, 0], end.mean[:3], rtol=1e-10, atol=1e-12)
        np.testing.assert_allclose(cov[:, :, 0], end.cov[:3, :3], rtol=1e-9, atol=1e-12)
        seen += block.n_columns
    assert seen == table.surface_type.size


@pytest.mark.usefixtures("as_python")
@pytest.mark.parametrize("seed", range(6))
def test_likelihood_and_gradient_of_any_portfolio_are_those_of_the_arrays(seed):
    assert_same_gradient(records(seed), some_vector(seed, 0.7))


@pytest.mark.usefixtures("as_python")
@pytest.mark.parametrize("seed", range(6))
def test_states_after_any_record_are_those_of_the_arrays(seed):
    assert_same_states(records(seed), to_params(some_vector(10 + seed, 0.7)))


@pytest.mark.usefixtures("as_python")
def test_each_surface_is_as_likely_as_the_arrays_say():
    table, params = records(3), to_params(some_vector(4))
    expected = np.zeros(table.surface_type.size)
    for block in build_blocks(table):
        expected[block.surfaces] = log_likelihood(block, params)

    np.testing.assert_allclose(compiled.log_likelihood(compiled.prepare(table), params), expected, rtol=1e-11)


@pytest.mark.usefixtures("as_python")
def test_only_some_surfaces_are_counted_when_asked():
    table, vector, only = records(2), some_vector(2), np.array([1, 4, 9])

    loglik, gradient = compiled.loglik_gradient(compiled.prepare(table, only), vector)

    expected_loglik, expected = portfolio_loglik_gradient(build_blocks(table, only), vector)
    np.testing.assert_allclose(loglik, expected_loglik, rtol=1e-12)
    np.testing.assert_allclose(gradient, expected, rtol=1e-9, atol=1e-12 * np.abs(expected).max())


def test_bounds_far_out_keep_their_digits(uncompiled):
    """Against scipy's functions of the normal distribution, on both sides of where the continued fraction begins."""
    for alpha in (-38.0, -12.0, -5.0001, -5.0, -4.9999, -1.0, 0.0, 0.3, 6.0, 37.0):
        hazard, log_chance = uncompiled[0].tail(alpha)
        expected = np.sqrt(2.0 / np.pi) / erfcx(-alpha / np.sqrt(2.0))
        assert hazard == pytest.approx(expected, rel=1e-13)
        assert log_chance == pytest.approx(log_ndtr(alpha), rel=1e-13)


def test_parameters_laid_one_after_the_other_come_apart_as_they_were():
    params = to_params(np.stack([some_vector(1), some_vector(2)], axis=1))

    again = taken_apart(one_after_other(params))

    for name, field in zip(PortfolioParams._fields, params, strict=True):
        np.testing.assert_array_equal(np.atleast_2d(getattr(again, name)), np.atleast_2d(field), err_msg=name)


def test_compiled_it_gives_the_same_digits():
    table = records(0, n=40)

    assert_same_gradient(table, some_vector(5))
    assert_same_states(table, to_params(some_vector(6)))


def test_a_large_portfolio_is_fitted_and_foreseen_alike_either_way(monkeypatch):
    rng = np.random.default_rng(5)
    table = flatten([random_history(rng, bounds=True) for _ in range(120)])
    now = portfolio._last_yr(table) + 0.5
    limits, results = np.full(now.size, 400.0), []
    monkeypatch.setattr(fitting, "CURVATURE_SAMPLE", 40)
    monkeypatch.setattr(fitting, "FIRST_SAMPLE", 20)
    for large in (10_000, 0):
        monkeypatch.setattr(compiled, "LARGE", large)
        fit = fitting.fit_table(table)
        outlook = portfolio.outlook_of_table(table, fit, now_yr=now, limit_mm_h=limits, ahead_yr=(0.0, 2.0))
        results.append((fit, outlook))

    (arrays, expected), (fit, outlook) = results
    sd = np.sqrt(np.diag(arrays.covariance))
    np.testing.assert_allclose(fit.mode / sd, arrays.mode / sd, atol=1e-3)
    np.testing.assert_allclose(
        fit.covariance / np.outer(sd, sd), arrays.covariance / np.outer(sd, sd), atol=1e-3
    )
    np.testing.assert_allclose(outlook.median, expected.median, rtol=1e-3)
    np.testing.assert_allclose(outlook.p_below, expected.p_below, atol=1e-3)


def test_the_work_on_a_portfolio_is_cut_alike_every_time():
    """Sums of floating numbers hang on their order: it must not go by which core was first."""
    table = records(1, n=30)
    groups = [compiled.prepare(table).groups for _ in range(2)]

    assert [group.which.tolist() for group in groups[0]] == [group.which.tolist() for group in groups[1]]
    whole = np.sort(np.concatenate([group.which for group in groups[0]]))
    np.testing.assert_array_equal(whole, np.arange(table.surface_type.size))


def test_a_surface_or_a_small_portfolio_does_not_load_the_compiler():
    asked = "import sys, clogging.api; print('numba' in sys.modules)"

    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)

    assert said.stdout.strip() == "False"


def test_without_a_folder_to_keep_it_in_the_code_is_compiled_all_the_same(uncompiled, monkeypatch):
    def njit(**options):
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: ("compiled", function)

    monkeypatch.setattr(numba, "njit", njit)

    assert uncompiled[0].compiled(abs) == ("compiled", abs)


@pytest.mark.usefixtures("as_python")
def test_the_mean_of_fixed_spots_needs_no_state_unless_the_layer_is_renewed():
    renewed = SPOTS._replace(events=(*SPOTS.events, CleaningEvent(4.1, "mill", 0.5), *again(SPOTS, 5.0)))
    cleaned = SPOTS._replace(events=(*SPOTS.events, CleaningEvent(4.1, "vacuum", 0.5), *again(SPOTS, 5.0)))
    table = flatten([SPOTS, renewed, cleaned])

    shorter = {at: group.states for group in compiled.prepare(table).shorter for at in group.which.tolist()}

    assert shorter == {0: 3, 1: 4, 2: 3}
    assert_same_gradient(table, some_vector(5, 0.7))


def again(history, t_yr):
    """The last round once more."""
    return (history.events[-1]._replace(t_yr=t_yr),)
