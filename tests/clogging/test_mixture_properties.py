"""Mixtures of normals: quantiles against bisection, and what any distribution must keep to."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from clogging import priors
from clogging.mixture import (
    PROBABILITIES,
    Mixture,
    believed_quantiles,
    probability_below,
    quantiles,
    rates_at,
    to_estimate,
)

# Log rates of paving lie from about 0 (1 mm/h) to 12 (160 000 mm/h); a day's spread is seldom under 0.01.
MEANS = st.floats(-3.0, 13.0)
WIDTHS = st.floats(0.01, 4.0)
PARTS = st.lists(st.tuples(MEANS, WIDTHS), min_size=1, max_size=12)
CLOSE = 1e-4


def mixture(parts):
    mean, sd = np.array(parts, dtype=float).T
    return mean[None, :], sd[None, :]


def by_bisection(mean, sd, chance):
    """The quantile found by nothing but the sign of a difference."""
    z = ndtri(chance)
    ends = mean + z * sd
    if np.ptp(ends) < 1e-9:
        return float(ends[0])
    return brentq(lambda x: ndtr((x - mean) / sd).mean() - chance, ends.min() - 1.0, ends.max() + 1.0)


@settings(max_examples=150)
@given(PARTS)
@example([(0.0, 0.01171875), (4.0, 1.0)])  # Newton alone stops 0.005 off beside so narrow a part,
@example([(0.0, 1.0), (0.0, 2.0), (0.0, 1.5), (0.0, 0.5), (0.0, 0.0625), (4.0, 1.0)])  # or goes to and fro
@example([(0.0, 1.40625), (7.5, 0.5)])  # a halved bracket is no nearer than its own length
def test_quantiles_are_those_that_bisection_finds(parts):
    mean, sd = mixture(parts)

    found = quantiles(mean, sd)[0]

    # Where two heaps lie far apart the distribution is flat between them and a place there means little; so a
    # quantile is right where either its place or its probability is.
    for value, chance in zip(found, PROBABILITIES, strict=True):
        expected = by_bisection(mean[0], sd[0], chance)
        missed = ndtr((value - mean[0]) / sd[0]).mean() - chance
        assert abs(value - expected) < CLOSE or abs(missed) < 1e-6


@given(PARTS)
def test_a_higher_chance_never_has_a_lower_quantile(parts):
    found = quantiles(*mixture(parts), np.linspace(0.01, 0.99, 33))[0]

    assert (np.diff(found) > -1e-9).all()


@given(PARTS, st.floats(-20.0, 20.0), st.floats(0.2, 5.0))
def test_quantiles_move_and_stretch_with_the_mixture(parts, shift, scale):
    mean, sd = mixture(parts)

    moved = quantiles(shift + scale * mean, scale * sd)

    np.testing.assert_allclose(moved, shift + scale * quantiles(mean, sd), atol=10 * CLOSE)


@given(PARTS)
def test_a_mixture_seen_in_a_mirror_has_mirrored_quantiles(parts):
    mean, sd = mixture(parts)

    np.testing.assert_allclose(quantiles(-mean, sd)[0], -quantiles(mean, sd)[0][::-1], atol=2 * CLOSE)


@given(PARTS, st.randoms(use_true_random=False))
def test_neither_the_order_of_the_parts_nor_their_repetition_matters(parts, random):
    shuffled = parts * 3
    random.shuffle(shuffled)

    np.testing.assert_allclose(quantiles(*mixture(shuffled)), quantiles(*mixture(parts)), atol=2 * CLOSE)


@given(st.lists(PARTS, min_size=2, max_size=4))
def test_many_mixtures_at_once_are_as_each_alone(many):
    size = max(map(len, many))
    # Repeating a part list as often as its length divides keeps the mixture; so pad by whole repetitions.
    whole = [(parts * size)[: len(parts) * (size // len(parts) or 1)] for parts in many]
    alike = [parts for parts in whole if len(parts) == len(whole[0])]
    mean, sd = (np.concatenate(part) for part in zip(*map(mixture, alike), strict=True))

    together = quantiles(mean[None], sd[None])[0]

    assert together.shape == (len(alike), PROBABILITIES.size)
    for row, parts in zip(together, alike, strict=True):
        np.testing.assert_allclose(row, quantiles(*mixture(parts))[0], atol=2 * CLOSE)


@given(PARTS, st.floats(-5.0, 15.0), st.floats(0.0, 5.0))
def test_the_chance_of_being_below_never_falls_with_the_limit(parts, limit, more):
    mean, sd = mixture(parts)

    low, high = (float(probability_below(np.array([at]), mean, sd)[0]) for at in (limit, limit + more))

    assert 0.0 <= low <= high <= 1.0


@given(PARTS, st.floats(-5.0, 15.0))
def test_below_and_above_make_one(parts, limit):
    mean, sd = mixture(parts)

    below = probability_below(np.array([limit]), mean, sd)
    above = probability_below(np.array([-limit]), -mean, sd)

    assert below + above == pytest.approx(1.0, abs=1e-12)


@given(PARTS)
def test_the_chance_of_being_below_the_median_is_one_half(parts):
    mean, sd = mixture(parts)
    median = quantiles(mean, sd, np.array([0.5]))[..., 0]

    assert probability_below(median, mean, sd)[0] == pytest.approx(
        0.5, abs=2e-2 if np.ptp(mean) > 3 else 2e-3
    )


@given(st.lists(st.tuples(st.floats(-800.0, 800.0), st.floats(0.0, 50.0)), min_size=1, max_size=6))
def test_rates_stay_between_sealed_and_the_fastest_whatever_the_model_believes(parts):
    rates = rates_at(quantiles(*mixture(parts)))[0]

    assert np.isfinite(rates).all()
    assert (rates >= priors.SEALED_MM_H).all()
    assert (rates <= priors.FASTEST_MM_H).all()


@given(PARTS)
def test_an_estimate_holds_its_ranges_inside_one_another(parts):
    found = to_estimate(rates_at(quantiles(*mixture(parts)))[0])

    assert found.lo95 <= found.lo80 <= found.median <= found.hi80 <= found.hi95


@given(PARTS, PARTS, st.floats(-2.0, 2.0))
def test_the_believed_quantiles_are_the_lower_of_two(parts, others, shift):
    size = min(len(parts), len(others))
    falling, kept = (Mixture(*mixture(each[:size])) for each in (parts, others))
    kept = kept._replace(mean=kept.mean + shift)

    found = believed_quantiles(falling, kept)

    lower = np.minimum(quantiles(*falling), quantiles(*kept))
    sure = (probability_below(found.T, *falling) < PROBABILITIES[:, None] + 1e-6) & (
        probability_below(found.T, *kept) < PROBABILITIES[:, None] + 1e-6
    )
    assert ((np.abs(found - lower) < 2 * CLOSE) | sure.T).all()
    assert (found <= quantiles(*falling) + 1e-12).all()


@given(st.lists(MEANS, min_size=1, max_size=40))
def test_points_have_the_order_statistics_of_numpy(values):
    values = np.array(values)

    found = quantiles(values[None], np.zeros((1, values.size)))[0]

    expected = np.quantile(values, PROBABILITIES, method="averaged_inverted_cdf")
    np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-12)
