"""Priors of the cleaning methods against the published before/after pairs they rest on.

Sources beside each pair in clogging/priors.py, all read in abstracts.
"""

from math import log

import pytest

from clogging.priors import CLEANINGS, CONDITIONS, METHODS, PUBLISHED_CLEANINGS, SURFACES, share_restored
from clogging.types import CLEANING_METHODS, SURFACE_TYPES, TEST_METHODS
from clogging.types import CONDITIONS as CONDITION_NAMES

# Simpson 2021 (five), Al-Rubaei 2013 (two), Bean 2007; shares worked out by hand from the factors.
BY_HAND = [0.207, 0.870, 0.446, 0.302, -0.717, 0.305, 0.0, 0.242]


@pytest.mark.parametrize(("pair", "share"), list(zip(PUBLISHED_CLEANINGS, BY_HAND, strict=True)))
def test_published_pairs_give_these_shares(pair, share):
    assert share_restored(pair.before, pair.after, pair.as_new) == pytest.approx(share, abs=0.001)


@pytest.mark.parametrize("pair", PUBLISHED_CLEANINGS)
def test_every_published_pair_lies_within_two_and_a_half_spreads_of_its_prior(pair):
    belief = CLEANINGS[pair.method]
    wet = "wet" in pair.source
    expected = belief.share - wet * belief.wet_penalty
    lost = log(pair.as_new / pair.before)
    var = belief.share_sd**2 + wet * belief.wet_penalty_sd**2 + (belief.scatter / lost) ** 2

    assert abs(share_restored(pair.before, pair.after, pair.as_new) - expected) < 2.5 * var**0.5


def test_published_decline_of_porous_asphalt_lies_within_its_prior():
    """Al-Rubaei 2013: 290 to 0.50 mm/min in 18 years and to 0.22 in 24, gritted streets with cars."""
    usual = SURFACES["porous_asphalt"].decline + CONDITIONS["winter_grit"].mean + CONDITIONS["traffic"].mean

    for before, after, years in ((290.0, 0.50, 18.0), (290.0, 0.22, 24.0)):
        assert log(before / after) / years == pytest.approx(
            usual, abs=2 * SURFACES["porous_asphalt"].decline_sd
        )


def test_falling_head_prior_holds_the_published_range():
    """Li, Kayhanian & Harvey 2013: the ring reads 0.10-0.50 of it; Chen et al. 2019: 4.08 to 6.36 times."""
    belief = METHODS["falling_head"]

    assert belief.offset == pytest.approx((log(4.0) + log(5.1)) / 2, abs=0.15)
    for ratio in (2.0, 4.08, 6.36, 10.0):
        assert abs(log(ratio) - belief.offset) < 2.0 * (belief.surface_sd**2 + belief.offset_sd**2) ** 0.5


def test_every_key_of_the_database_has_a_prior_with_a_source():
    assert set(SURFACES) == set(SURFACE_TYPES)
    assert set(CLEANINGS) == set(CLEANING_METHODS)
    assert set(METHODS) == set(TEST_METHODS) - {"ring"}
    assert set(CONDITIONS) == set(CONDITION_NAMES)
    for table in (SURFACES, CLEANINGS, METHODS, CONDITIONS):
        assert all(len(belief.source) > 15 for belief in table.values())


def test_shares_of_impossible_pairs_are_refused():
    with pytest.raises(ValueError, match=r"before below as_new, got before=20\.0"):
        share_restored(20.0, 30.0, 10.0)
