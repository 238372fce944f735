import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnusableRecordError
from qa.calc.gradation import BANDS, check_grading
from qa.calc.sieves import SIEVE_NAMES, sieve_label
from qa.calc.sieving import fines_warnings, passing_from_retained

SIEVES = sorted(SIEVE_NAMES, reverse=True)


def test_percent_passing_counts_what_coarser_sieves_hold():
    found = passing_from_retained({25: 50, 12.5: 600, 4.75: 300}, pan_g=50)

    assert found.passing == pytest.approx({25: 95, 12.5: 35, 4.75: 5})
    assert check_grading({37.5: 100, 2.36: 2, **found.passing}, BANDS["57"]).passes


def test_what_was_washed_out_counts_as_passing_every_sieve():
    found = passing_from_retained({25: 0, 4.75: 980}, pan_g=0, wash_loss_percent=2)

    assert found.passing == pytest.approx({25: 100, 4.75: 2})


def test_a_weighed_dry_mass_shows_what_went_missing():
    found = passing_from_retained({25: 500, 4.75: 490}, pan_g=0, dry_mass_g=1000)

    assert found.unaccounted_percent == pytest.approx(1)
    assert "1 % of the mass went missing in sieving; at most 0.3 %" in found.warnings[0]


def test_a_small_loss_is_not_worth_a_word():
    assert passing_from_retained({25: 500, 4.75: 498}, pan_g=0, dry_mass_g=1000).warnings == ()


@pytest.mark.parametrize(
    ("kept_g", "said"), [(997.0, ""), (996.9, "went missing"), (1003.0, ""), (1000.0, "")]
)
def test_three_in_a_thousand_may_be_missing_or_gained(kept_g, said):
    """ASTM C136/C136M (from memory)."""
    warnings = passing_from_retained({4.75: kept_g}, pan_g=0, dry_mass_g=1000).warnings

    assert (said in warnings[0]) if said else warnings == ()


def test_mass_that_was_gained_after_washing_is_told_as_such():
    found = passing_from_retained({4.75: 995}, pan_g=0, wash_loss_percent=1, dry_mass_g=1000)

    assert found.unaccounted_percent == pytest.approx(-0.50505, rel=1e-4)
    assert "0.51 % of the mass was gained in sieving" in found.warnings[0]


def test_missing_mass_is_not_known_where_no_dry_mass_was_weighed():
    assert passing_from_retained({4.75: 995}, pan_g=5).unaccounted_percent is None


def test_mass_gained_never_makes_a_sieve_pass_less_than_nothing():
    found = passing_from_retained({25: 500, 4.75: 503}, pan_g=0, dry_mass_g=1000)

    assert found.passing[4.75] == 0.0


@pytest.mark.parametrize(
    ("passing", "wash", "count"),
    [
        ({0.075: 2.0}, None, 0),
        ({0.075: 2.01}, None, 1),
        ({0.075: 0.4}, 0.5, 0),
        ({0.075: 0.4}, 0.505, 1),
        ({}, 2.01, 2),
        ({0.075: 0.0}, 2.01, 1),
    ],
)
def test_fines_are_held_against_two_percent_and_the_wash_against_a_half(passing, wash, count):
    """2 % of washed stone (from memory); Ontario guide, reservoir aggregate: 0.5 % (looked up)."""
    assert len(fines_warnings(passing, wash)) == count


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (({25: 10}, -1), "Mass in the pan must be 0 g or more, got -1"),
        (({25: 10}, 0, -1), "The wash loss is -1 %"),
        (({25: 10}, 0, float("nan")), "The wash loss is nan %"),
        (({0: 10}, 0), "Sieve size must be more than 0 mm"),
        (({25: 1003.1}, 0, 0, 1000), "add up to 1003.1 g, more than the dry mass of 1000 g"),
        (({}, 1), "No mass on any sieve"),
        (({25: -1}, 1), "Mass on the 25 mm .1 in. sieve must be 0 g or more, got -1"),
        (({25: 0}, 0), "Dry mass must be more than 0 g"),
        (({25: 10}, 0, 100), "The wash loss is 100 %"),
        (({25: 1100}, 0, 0, 1000), "add up to 1100 g, more than the dry mass of 1000 g"),
    ],
)
def test_impossible_masses_are_refused(arguments, message):
    with pytest.raises(UnusableRecordError, match=message):
        passing_from_retained(*arguments)


@given(
    st.lists(st.floats(0, 5000), min_size=len(SIEVES), max_size=len(SIEVES)),
    st.floats(0.1, 500),
    st.floats(0, 20),
)
def test_passing_never_rises_towards_the_finer_sieves(masses, pan, wash):
    found = passing_from_retained(dict(zip(SIEVES, masses, strict=True)), pan, wash)

    percents = [found.passing[sieve] for sieve in SIEVES]
    assert percents == sorted(percents, reverse=True)
    assert all(0 <= percent <= 100 for percent in percents)


@given(st.lists(st.floats(1, 5000), min_size=4, max_size=4), st.floats(1, 500), st.floats(0.01, 100))
def test_percents_do_not_depend_on_the_size_of_the_sample(masses, pan, factor):
    once = passing_from_retained(dict(zip(SIEVES, masses, strict=False)), pan)
    scaled = passing_from_retained(
        dict(zip(SIEVES, [mass * factor for mass in masses], strict=False)), pan * factor
    )

    assert scaled.passing == pytest.approx(once.passing, abs=1e-9)


def test_fines_are_told_from_the_finest_sieve_or_the_wash():
    assert "not known" in fines_warnings({4.75: 5}, None)[0]
    assert fines_warnings({4.75: 5}, 0.5) == ()
    assert "The wash loss is 0.6 %" in fines_warnings({}, 0.6)[0]
    assert "2.5 % is finer than 0.075 mm" in fines_warnings({0.075: 2.5}, None)[0]


def test_a_sieve_is_named_by_its_opening_and_its_us_name():
    assert sieve_label(4.75) == "4.75 mm (No. 4)"
    assert sieve_label(26.5) == "26.5 mm"
