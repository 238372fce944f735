from collections import Counter
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import ImpossibleRecordError
from qa.calc.counts import (
    UnitSystem,
    Zone,
    choose_spots,
    count_deviation,
    locations_needed,
    locations_needed_m2,
    spacing_deviations,
    zone_shares,
)
from qa.calc.outlines import SurfacePlan

YARD = SurfacePlan(outline=((0, 0), (40, 0), (40, 25), (0, 25)), run_on_edges=(0,), low_point=(35, 20))


@given(area=st.floats(min_value=1, max_value=1e6), more=st.floats(min_value=0, max_value=1e5))
def test_a_larger_area_never_needs_fewer_spots(area, more):
    for system in UnitSystem:
        assert locations_needed(area + more, system) >= locations_needed(area, system) >= 3


def test_conversion_noise_at_the_border_adds_no_spot():
    assert locations_needed_m2(25_000 * 0.09290304, UnitSystem.US) == 3
    assert locations_needed_m2(2_500, UnitSystem.SI) == 3


def test_an_area_of_zero_is_refused():
    with pytest.raises(ImpossibleRecordError, match=r"Area must be more than 0 m², got 0\."):
        locations_needed(0, UnitSystem.SI)


def test_too_few_spots_say_how_many_more():
    deviation = count_deviation(3, 3_000, UnitSystem.SI)

    assert deviation.key == "too_few_locations"
    assert "Test 1 more" in deviation.message
    assert count_deviation(4, 3_000, UnitSystem.SI) is None


def test_spots_closer_than_a_metre_are_named():
    spots = {"A": (0.0, 0.0), "B": (0.9, 0.0), "C": (5.0, 0.0)}

    (deviation,) = spacing_deviations(spots, UnitSystem.SI)

    assert deviation.message.startswith("Spots A and B are 0.90 m apart; at least 1.00 m")


def test_spots_too_close_in_us_units_are_told_in_feet():
    (deviation,) = spacing_deviations({"A": (0, 0), "B": (0.6096, 0)}, UnitSystem.US)

    assert deviation.message.startswith("Spots A and B are 2.00 ft apart; at least 3.00 ft is asked")
    assert deviation.allowed == "at least 3.00 ft"


def test_three_feet_suffice_in_us_units():
    assert spacing_deviations({"A": (0, 0), "B": (0.9144, 0)}, UnitSystem.US) == ()


@given(count=st.integers(min_value=3, max_value=60), edge=st.booleans(), low=st.booleans())
def test_zone_shares_add_up_and_leave_no_zone_out(count, edge, low):
    shares = zone_shares(count, edge, low)

    assert sum(shares.values()) == count
    assert (shares[Zone.EDGE] > 0) == edge
    assert (shares[Zone.LOW] > 0) == low
    assert shares[Zone.INTERIOR] > 0


def test_the_same_seed_chooses_the_same_spots():
    assert choose_spots(YARD, 6, seed=7) == choose_spots(YARD, 6, seed=7)
    assert choose_spots(YARD, 6, seed=7) != choose_spots(YARD, 6, seed=8)


@pytest.mark.parametrize("seed", range(5))
def test_spots_keep_their_distance_and_lie_in_their_zone(seed):
    spots = choose_spots(YARD, 6, seed=seed)

    assert Counter(s.zone for s in spots) == {Zone.EDGE: 2, Zone.LOW: 1, Zone.INTERIOR: 3}
    assert all(0.3 <= s.y_m <= 1.5 for s in spots if s.zone is Zone.EDGE)
    assert all(hypot(s.x_m - 35, s.y_m - 20) <= 2.01 for s in spots if s.zone is Zone.LOW)
    assert all(s.y_m > 1.49 for s in spots if s.zone is Zone.INTERIOR)
    assert spacing_deviations({str(i): (s.x_m, s.y_m) for i, s in enumerate(spots)}, UnitSystem.SI) == ()


def test_a_notched_outline_gets_no_spot_in_its_notch():
    plan = SurfacePlan(outline=((0, 0), (20, 0), (20, 20), (10, 20), (10, 5), (0, 5)))

    spots = choose_spots(plan, 8, seed=3)

    assert not [s for s in spots if s.x_m < 10 and s.y_m > 5]


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (SurfacePlan(outline=((0, 0), (1, 0))), "An outline needs 3 corners or more, got 2"),
        (SurfacePlan(outline=((0, 0), (5, 0), (5, 5)), run_on_edges=(3,)), "Side 4 does not exist"),
        (SurfacePlan(outline=((0, 0), (0, 0), (5, 5))), "Corners 1 and 2 lie on each other"),
        (SurfacePlan(outline=((0, 0), (float("nan"), 0), (5, 5))), "Corner 2 of the outline is not a number"),
        (SurfacePlan(outline=((0, 0), (2, 0), (2, 2), (0, 2))), "No room .* with 1 m between spots"),
    ],
)
def test_an_outline_that_cannot_hold_the_spots_is_refused(plan, message):
    with pytest.raises(ImpossibleRecordError, match=message):
        choose_spots(plan, 12, seed=1)


def test_a_reader_of_us_units_is_told_the_spacing_in_feet():
    with pytest.raises(ImpossibleRecordError, match="with 3 ft between spots"):
        choose_spots(SurfacePlan(outline=((0, 0), (2, 0), (2, 2), (0, 2))), 12, 1, system=UnitSystem.US)


@pytest.mark.parametrize("place", [(99.0, 5.0), (float("nan"), 5.0)])
def test_a_spot_that_is_there_but_not_on_the_surface_is_refused(place):
    with pytest.raises(ImpossibleRecordError, match="Spot 2"):
        choose_spots(YARD, 3, seed=1, taken=((5.0, 5.0), place))
