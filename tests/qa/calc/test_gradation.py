from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc.gradation import (
    BANDS,
    Band,
    Sizes,
    characteristic_sizes,
    check_grading,
    filter_check,
    hazen_warning,
    porosity_from_uniformity,
    size_at,
)
from qa.calc.sources import Source, SourceStatus

NO_57 = {37.5: 100, 25: 97, 12.5: 40, 4.75: 5, 2.36: 2}


@pytest.mark.parametrize("size", BANDS)
@given(share=st.floats(min_value=0, max_value=1))
def test_any_grading_between_the_limits_passes(size, share):
    band = BANDS[size]

    passing = {sieve: low + share * (high - low) for sieve, (low, high) in band.limits.items()}

    assert check_grading(passing, band).passes


@pytest.mark.parametrize("size", BANDS)
def test_limits_of_every_band_fall_with_the_sieve(size):
    rows = sorted(BANDS[size].limits.items(), reverse=True)

    assert [low for _, (low, _) in rows] == sorted((low for _, (low, _) in rows), reverse=True)
    assert [high for _, (_, high) in rows] == sorted((high for _, (_, high) in rows), reverse=True)


def test_a_sieve_that_was_not_reported_fails_the_band_and_is_named():
    result = check_grading({37.5: 100, 25: 97, 12.5: 40, 4.75: 5}, BANDS["57"])

    assert not result.passes
    assert result.failures[0].reason.startswith("The 2.36 mm sieve was not reported")


def test_too_coarse_and_too_fine_are_told_apart():
    result = check_grading({**NO_57, 25: 90, 2.36: 8, 4.75: 9}, BANDS["57"])

    assert [f.sieve_mm for f in result.failures] == [25, 2.36]
    assert "Only 90 % pass the 25 mm sieve; 95 to 100 % is asked. Too coarse" in result.failures[0].reason
    assert "8 % pass the 2.36 mm sieve; 0 to 5 % is asked. Too fine" in result.failures[1].reason


def test_a_finer_sieve_that_passes_more_is_pointed_out():
    result = check_grading({**NO_57, 2.36: 7}, BANDS["57"])

    assert result.warnings[0].startswith(
        "The 2.36 mm sieve passes 7 %, more than the 5 % of the 4.75 mm sieve"
    )


def test_sizes_are_interpolated_over_the_logarithm():
    assert size_at({10: 0, 40: 100}, 50) == pytest.approx(sqrt(10 * 40))
    assert size_at(NO_57, 40) == pytest.approx(12.5)


@given(shift=st.floats(min_value=0.1, max_value=10))
def test_sizes_scale_with_the_sieves_and_uniformity_does_not(shift):
    one = characteristic_sizes(NO_57)
    other = characteristic_sizes({sieve * shift: percent for sieve, percent in NO_57.items()})

    assert other.d50_mm == pytest.approx(one.d50_mm * shift)
    assert other.uniformity == pytest.approx(one.uniformity)


def test_an_estimate_beyond_the_range_of_its_rule_says_so():
    assert hazen_warning(2.5) == ""
    assert "outside 0.1 to 3 mm" in hazen_warning(8)


def test_bedding_of_no_8_stays_on_a_base_of_no_57_and_sand_does_not():
    base = characteristic_sizes(NO_57)
    bedding = characteristic_sizes({12.5: 100, 9.5: 92, 4.75: 20, 2.36: 4, 1.18: 2})
    sand = Sizes(0.15, 0.2, 0.35, 0.4, 0.6)

    assert filter_check(bedding, base).holds
    found = filter_check(sand, base)
    assert not found.holds
    assert "Put a choker layer or a geotextile between them" in found.reason


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: check_grading({}, BANDS["8"]), "has no sieves"),
        (lambda: check_grading({12.5: 101}, BANDS["8"]), "The 12.5 mm sieve passes 101 %"),
        (lambda: check_grading({-1: 10}, BANDS["8"]), "Sieve size must be more than 0 mm"),
        (lambda: size_at({10: 20, 40: 100}, 10), "d10 lies outside the sieves used, which pass 20 to 100 %"),
        (lambda: size_at({10: 50, 40: 20}, 30), "Check the report"),
        (lambda: porosity_from_uniformity(0.5), "cannot be below 1, got 0.5"),
        (
            lambda: Band("own", {10: (50, 20)}, Source("own", SourceStatus.OWN_DEFAULT)),
            "goes from 50 to 20 %",
        ),
        (lambda: Band("own", {}, Source("own", SourceStatus.OWN_DEFAULT)), "has no sieves"),
    ],
)
def test_impossible_gradings_are_refused(call, message):
    with pytest.raises(UnusableRecordError, match=message):
        call()
