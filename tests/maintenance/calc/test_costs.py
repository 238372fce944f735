"""What a cleaning costs, and which methods suit what."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.calc.paving import CleaningMethod, SurfaceType
from maintenance.calc.costs import DEFAULT_TERMS, Terms, cleaning_cost, cost_per_year, hours_needed
from maintenance.calc.suitability import CARE, RESTORING, ROUTINE, SUITED, possible_methods, suited_methods

TERMS = Terms(Decimal("0.45"), Decimal("220.00"), 2000.0)
AREAS = st.floats(0.1, 1e6)
SHARES = st.floats(0.01, 1.0)


@pytest.mark.parametrize(
    ("area_m2", "share", "cost"),
    [(1000.0, 1.0, "450.00"), (1000.0, 0.5, "225.00"), (100.0, 1.0, "220.00"), (500.1, 1.0, "225.05")],
)
def test_a_cleaning_costs_by_its_area_but_never_less_than_coming_does(area_m2, share, cost):
    assert cleaning_cost(TERMS, area_m2, share) == Decimal(cost)


@pytest.mark.parametrize(
    ("area_m2", "share"),
    [(0.0, 1.0), (-5.0, 1.0), (100.0, 0.0), (100.0, 1.1), (float("nan"), 1.0), (100.0, float("nan"))],
)
def test_an_area_or_share_that_cannot_be_is_refused_with_both_values(area_m2, share):
    with pytest.raises(ValueError, match=f"got {area_m2:g} and {share:g}"):
        cleaning_cost(TERMS, area_m2, share)


@given(small=AREAS, large=AREAS, share=SHARES)
def test_more_area_never_costs_less(small, large, share):
    small, large = sorted((small, large))

    assert cleaning_cost(TERMS, small, share) <= cleaning_cost(TERMS, large, share)


@given(area_m2=AREAS, share=SHARES)
def test_money_is_whole_cents_and_at_least_the_minimum(area_m2, share):
    cost = cleaning_cost(TERMS, area_m2, share)

    assert cost == cost.quantize(Decimal("0.01"))
    assert cost >= TERMS.minimum_charge


@pytest.mark.parametrize(
    ("years", "a_year"),
    [
        (2.0, "225.00"),
        (None, "45.00"),
        (0.5, "900.00"),
        (1 / 365.25, "164362.50"),  # a day: 450 times 365.25
        (0.99 / 365.25, None),
        (0.0, None),
        (-1.0, None),
    ],
)
def test_a_year_within_the_limit_costs_its_share_of_the_cleaning(years, a_year):
    cost = cost_per_year(Decimal("450.00"), years, horizon_yr=10.0)

    assert cost == (Decimal(a_year) if a_year else None)


def test_hours_follow_the_output_of_the_crew():
    assert hours_needed(TERMS, 3000.0, 0.5) == 0.75


@pytest.mark.parametrize("table", [DEFAULT_TERMS, CARE])
def test_every_cleaning_method_has_terms_and_care(table):
    assert set(table) == set(CleaningMethod)


def test_a_cleaning_method_is_either_routine_or_restoring():
    assert [*ROUTINE, *RESTORING] == list(CleaningMethod)


@pytest.mark.parametrize("surface_type", SurfaceType)
def test_every_surface_type_has_a_routine_method_and_each_once(surface_type):
    methods = suited_methods(surface_type)

    assert set(methods) & set(ROUTINE)
    assert len(set(methods)) == len(methods)


# Winston et al. 2016, J. Environ. Manage. 169:132, milled porous asphalt and nothing else; the rest: plain sense.
RESTORED_BY = {
    "picp": {"joint_refill", "relay"},
    "clay": {"joint_refill", "relay"},
    "resin_joint": {"rejoint_resin", "relay"},
    "resin_bound": set(),
    "pervious_concrete": set(),
    "porous_asphalt": {"mill"},
    "concrete_grid": {"joint_refill", "relay"},
    "plastic_grid": {"joint_refill", "relay"},
    "gravel": set(),
}


@pytest.mark.parametrize(("surface_type", "methods"), RESTORED_BY.items())
def test_a_surface_is_restored_only_by_what_its_build_allows(surface_type, methods):
    assert set(suited_methods(surface_type)) & set(RESTORING) == methods
    assert set(possible_methods(surface_type)) & set(RESTORING) == methods


def test_suitability_knows_every_surface_type_and_no_others():
    assert set(SUITED) == set(SurfaceType)
    with pytest.raises(ValueError, match="lawn"):
        suited_methods("lawn")


@pytest.mark.parametrize("surface_type", ["pervious_concrete", "porous_asphalt"])
def test_no_broom_grinds_fines_into_porous_surfaces(surface_type):
    """Danz, Selbig & Buer 2020, Water 12:1563: mechanical brooms grind fines into porous concrete and asphalt."""
    assert "broom" not in suited_methods(surface_type)


@pytest.mark.parametrize("surface_type", SurfaceType)
def test_what_can_have_been_done_is_what_suits_and_then_every_other_sweeping_and_washing(surface_type):
    possible = possible_methods(surface_type)

    suited = suited_methods(surface_type)
    assert possible[: len(suited)] == suited
    assert set(possible) == set(suited) | set(ROUTINE)
    assert len(set(possible)) == len(possible)
