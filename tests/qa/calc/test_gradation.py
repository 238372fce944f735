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
    hazen_conductivity_mm_h,
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
    assert result.failures[0].reason.startswith("The 2.36 mm (No. 8) sieve was not reported")


def test_too_coarse_and_too_fine_are_told_apart():
    result = check_grading({**NO_57, 25: 90, 2.36: 8, 4.75: 9}, BANDS["57"])

    assert [f.sieve_mm for f in result.failures] == [25, 2.36]
    assert (
        "Only 90 % pass the 25 mm (1 in) sieve; 95 to 100 % is asked. Too coarse" in result.failures[0].reason
    )
    assert "8 % pass the 2.36 mm (No. 8) sieve; 0 to 5 % is asked. Too fine" in result.failures[1].reason


def test_a_finer_sieve_that_passes_more_is_pointed_out():
    result = check_grading({**NO_57, 2.36: 7}, BANDS["57"])

    assert result.warnings[0].startswith(
        "The 2.36 mm (No. 8) sieve passes 7 %, more than the 5 % of the 4.75 mm (No. 4) sieve"
    )


def test_an_unreported_sieve_is_asked_for_in_the_words_of_its_limits():
    (missing,) = check_grading({25: 97, 12.5: 40, 4.75: 5, 2.36: 2}, BANDS["57"]).failures

    assert missing.reason == "The 37.5 mm (1½ in) sieve was not reported; 100 % passing is asked. Ask for it."
    assert (missing.passing, missing.low, missing.high) == (None, 100.0, 100.0)


@pytest.mark.parametrize("size", BANDS)
def test_a_step_beyond_any_limit_of_any_band_fails_on_that_sieve_alone(size):
    band = BANDS[size]
    middle = {sieve: (low + high) / 2 for sieve, (low, high) in band.limits.items()}
    for sieve, (low, high) in band.limits.items():
        beyond = [low - 0.1] * (low > 0) + [high + 0.1] * (high < 100)
        for percent in beyond:
            result = check_grading({**middle, sieve: percent}, band)
            assert [f.sieve_mm for f in result.failures] == [sieve]


def test_two_sieves_that_pass_the_same_are_in_order():
    assert check_grading({**NO_57, 4.75: 5, 2.36: 5}, BANDS["57"]).warnings == ()


def test_all_characteristic_sizes_are_those_of_a_straight_line_over_the_logarithm():
    """From 1 mm (0 %) to 100 mm (100 %): d_p is 10^(2p/100)."""
    sizes = characteristic_sizes({1.0: 0, 100.0: 100})

    found = (sizes.d10_mm, sizes.d15_mm, sizes.d50_mm, sizes.d60_mm, sizes.d85_mm)
    assert found == pytest.approx([10 ** (0.02 * p) for p in (10, 15, 50, 60, 85)])
    assert sizes.uniformity == pytest.approx(10)


def test_a_percent_at_the_end_of_the_sieves_has_its_size_and_one_beyond_has_none():
    assert size_at({10: 20, 40: 90}, 20) == pytest.approx(10)
    assert size_at({10: 20, 40: 90}, 90) == pytest.approx(40)
    for percent in (19.9, 90.1):
        with pytest.raises(UnusableRecordError, match="lies outside the sieves used, which pass 20 to 90 %"):
            size_at({10: 20, 40: 90}, percent)


def test_the_finer_of_two_sieves_that_pass_the_same_has_the_size():
    assert size_at({2: 0, 4: 50, 8: 50, 16: 100}, 50) == pytest.approx(4)


@pytest.mark.parametrize(("d10_mm", "warned"), [(0.1, False), (3.0, False), (0.099, True), (3.01, True)])
def test_the_conductivity_rule_was_made_for_sands_up_to_3_mm(d10_mm, warned):
    """Usual range of Hazen's rule (from memory)."""
    assert bool(hazen_warning(d10_mm)) == warned


def sizes(d15=1.0, d50=1.0, d85=1.0):
    return Sizes(d10_mm=0.9, d15_mm=d15, d50_mm=d50, d60_mm=2.0, d85_mm=d85)


@pytest.mark.parametrize(
    ("lower", "upper", "holds"),
    [
        (sizes(d15=4.99), sizes(d85=1.0), True),
        (sizes(d15=5.0), sizes(d85=1.0), False),
        (sizes(d15=5.05), sizes(d85=1.0), False),
        (sizes(d50=24.9), sizes(d50=1.0), True),
        (sizes(d50=25.0), sizes(d50=1.0), False),
        (sizes(d50=25.3), sizes(d50=1.0), False),
        (sizes(d15=6.0, d50=30.0), sizes(), False),
    ],
)
def test_filter_criteria_are_five_and_twenty_five_and_both_must_hold(lower, upper, holds):
    """D15/d85 < 5 and D50/d50 < 25 (from memory)."""
    found = filter_check(upper, lower)

    assert found.holds == holds
    assert found.d15_to_d85 == pytest.approx(lower.d15_mm / upper.d85_mm)
    assert found.d50_to_d50 == pytest.approx(lower.d50_mm / upper.d50_mm)
    assert ("less than 5" in found.reason) == (lower.d15_mm >= 5)
    assert ("less than 25" in found.reason) == (lower.d50_mm >= 25)


def test_stone_of_one_size_has_the_highest_porosity_that_the_rule_gives():
    """n = 0.255·(1 + 0.83^Cu): 0.46665 at Cu 1, 0.255 for ever wider gradings."""
    assert porosity_from_uniformity(1) == pytest.approx(0.46665)
    assert porosity_from_uniformity(200) == pytest.approx(0.255)


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
        (lambda: check_grading({12.5: -0.1}, BANDS["8"]), "The 12.5 mm .½ in. sieve passes -0.1 %"),
        (lambda: check_grading({12.5: float("nan")}, BANDS["8"]), "The 12.5 mm .½ in. sieve passes nan %"),
        (lambda: size_at({}, 10), "has no sieves"),
        (lambda: porosity_from_uniformity(float("inf")), "cannot be below 1, got inf"),
        (lambda: hazen_conductivity_mm_h(0), "d10 must be more than 0 mm"),
        (
            lambda: Band("own", {0: (0, 20)}, Source("own", SourceStatus.OWN_DEFAULT)),
            "Sieve size must be more",
        ),
        (
            lambda: Band("own", {10: (0, 101)}, Source("own", SourceStatus.OWN_DEFAULT)),
            "goes from 0 to 101 %",
        ),
        (
            lambda: Band("own", {10: (-1, 20)}, Source("own", SourceStatus.OWN_DEFAULT)),
            "goes from -1 to 20 %",
        ),
        (lambda: check_grading({12.5: 101}, BANDS["8"]), "The 12.5 mm .½ in. sieve passes 101 %"),
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
