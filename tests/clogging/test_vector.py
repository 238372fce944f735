"""The vector that is fitted: its transforms there and back, its slopes, its priors as the table states them, and what
a vector far out still means."""

from math import atanh, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from scipy.special import expit

from clogging import priors
from clogging.parameters import (
    ENTRIES,
    INDEX,
    NAMES,
    PRIOR_MEAN,
    PRIOR_SD,
    SLICES,
    PortfolioParams,
    kappa_of_shape,
    natural,
    shape_of_kappa,
    to_params,
    to_vector_gradient,
)
from clogging.types import CLEANING_METHODS, CONDITIONS, SOURCE_CHANGES, SURFACE_TYPES, TEST_METHODS
from tests.clogging.worlds import some_vector

LOW, HIGH = priors.KAPPA_RANGE
SEEDS = st.integers(0, 10**6)
few = hypothesis_settings(max_examples=25)


@few
@given(st.floats(LOW + 1e-6, HIGH - 1e-6))
def test_a_shape_is_the_kappa_it_was_made_of(kappa):
    assert kappa_of_shape(np.array([shape_of_kappa(kappa)]))[0] == pytest.approx(kappa, abs=1e-9)


@few
@given(st.floats(-30.0, 30.0), st.floats(0.01, 5.0))
def test_a_higher_shape_is_a_higher_kappa_and_none_leaves_its_range(shape, more):
    low, high = kappa_of_shape(np.array([shape, shape + more]))

    assert LOW <= low <= high <= HIGH


@few
@given(SEEDS)
def test_every_parameter_keeps_its_bounds_however_far_the_vector_lies(seed):
    """Fifty prior spreads out: scales stay above 0, shares between 0 and 1, a correlation within -1 and 1."""
    p = to_params(some_vector(seed, size=15.0))

    for scale in (
        p.tau_b,
        p.tau_lam,
        p.drift_var,
        p.sd_day,
        p.sd_spot,
        p.sd_clean,
        p.source_factor,
        p.sd_source,
    ):
        assert (scale > 0.0).all()
    for share in (p.gamma, p.location_share):
        assert ((share >= 0.0) & (share <= 1.0)).all()
    assert (np.abs(p.corr) <= 1.0).all()
    assert ((p.kappa >= LOW) & (p.kappa <= HIGH)).all()
    assert (p.offset[0] == 0.0).all()  # the ring, which the others are held against


def weights_like(params, seed):
    """A plain number for every natural parameter."""
    rng = np.random.default_rng(seed)
    return PortfolioParams(*(rng.normal(size=field.shape) for field in params))


def total(vector, weights):
    """A weighed sum of all natural parameters, whose slope by each of them is its weight."""
    fields = zip(to_params(vector), weights, strict=True)
    return sum(float((field * weight).sum()) for field, weight in fields)


@few
@given(SEEDS)
def test_the_slope_by_the_vector_is_that_of_central_differences(seed):
    vector = some_vector(seed)
    params = to_params(vector)
    weights = weights_like(params, seed + 1)

    slope = to_vector_gradient(params, weights)[:, 0]

    step = 1e-6
    for at in range(vector.size):
        moved = np.zeros_like(vector)
        moved[at] = step
        plain = (total(vector + moved, weights) - total(vector - moved, weights)) / (2.0 * step)
        assert slope[at] == pytest.approx(plain, rel=1e-5, abs=1e-6), NAMES[at]


def test_vectors_side_by_side_are_as_each_alone():
    vectors = [some_vector(seed) for seed in range(3)]

    together = to_params(np.stack(vectors, axis=1))

    assert together.n_sets == 3
    for i, vector in enumerate(vectors):
        for name, field in to_params(vector)._asdict().items():
            np.testing.assert_allclose(getattr(together, name)[..., i], field[..., 0], err_msg=name)


def test_every_name_belongs_to_one_field_and_lies_where_it_is_said_to():
    covered = sorted(at for where in SLICES.values() for at in range(len(NAMES))[where])

    assert covered == list(range(len(NAMES)))
    assert [NAMES[at] for at in INDEX.values()] == list(INDEX)
    for head, where in SLICES.items():
        assert {name.split(":")[0] for name in NAMES[where]} == {head}


def test_the_vector_has_an_entry_for_each_word_of_every_list():
    lists = {
        "mu_b": SURFACE_TYPES,
        "mu_lam": SURFACE_TYPES,
        "kappa_kind": SURFACE_TYPES,
        "beta": CONDITIONS,
        "rho": CLEANING_METHODS,
        "wet": CLEANING_METHODS,
        "sd_clean": CLEANING_METHODS,
        "offset": TEST_METHODS[1:],
        "source_factor": SOURCE_CHANGES,
        "sd_source": SOURCE_CHANGES,
    }
    for head, words in lists.items():
        assert NAMES[SLICES[head]] == tuple(f"{head}:{word}" for word in words)


def believed(name):
    """Mean and spread of an entry as the table of priors states it, on the scale of the vector."""
    head, _, key = name.partition(":")
    if head in ("rho", "wet"):
        cleaning = priors.CLEANINGS[key]
        share = (cleaning.share, cleaning.share_sd)
        return share if head == "rho" else (cleaning.wet_penalty, cleaning.wet_penalty_sd)
    surface = priors.SURFACES.get(key)
    if head == "mu_b":
        return log(surface.as_new_mm_h), surface.as_new_sd
    if head == "mu_lam":
        return surface.decline, surface.decline_sd
    if head == "offset":
        return priors.METHODS[key].offset, priors.METHODS[key].offset_sd
    if head == "beta":
        return priors.CONDITIONS[key].mean, priors.CONDITIONS[key].sd
    return None


@pytest.mark.parametrize("head", ["mu_b", "mu_lam", "beta", "rho", "wet", "offset"])
def test_what_is_believed_before_any_test_is_what_the_table_says(head):
    for at in range(len(NAMES))[SLICES[head]]:
        assert (PRIOR_MEAN[at], PRIOR_SD[at]) == pytest.approx(believed(NAMES[at])), NAMES[at]


def test_shares_scales_and_the_correlation_are_believed_on_scales_without_bounds():
    middle = natural(PRIOR_MEAN)

    assert middle[INDEX["gamma"]] == pytest.approx(priors.LASTING_SHARE.mean)
    assert middle[INDEX["location_share"]] == pytest.approx(priors.LOCATION_SHARE.mean)
    assert middle[INDEX["corr"]] == pytest.approx(priors.START_DECLINE_CORR.mean)
    assert middle[INDEX["tau_b"]] == pytest.approx(priors.SCALES["as_new_scatter"].mean)
    assert PRIOR_MEAN[INDEX["corr"]] == pytest.approx(atanh(priors.START_DECLINE_CORR.mean))
    assert LOW + (HIGH - LOW) * expit(PRIOR_MEAN[INDEX["kappa"]]) == pytest.approx(priors.SHAPE.mean)
    assert all(entry.sd > 0.0 for entry in ENTRIES)


def test_the_vector_that_is_given_is_left_as_it_was():
    vector = some_vector(1)
    before = vector.copy()

    natural(vector)
    to_params(vector)

    np.testing.assert_array_equal(vector, before)
