"""Money of care worked through: the steps that are shown give the figures that are shown."""

import re
from decimal import Decimal

import pytest

from core.calc.format import figure
from core.calc.units import Quantity, UnitSystem, unit_of
from maintenance.calc.costs import Terms, cleaning_cost, hours_needed
from maintenance.models import Forecast, Recommendation
from maintenance.presentation.worked import worked_care, worked_price
from maintenance.services import forecasts
from qa.models import Surface
from tests.factories import InfiltrationTestFactory, RoundFactory
from tests.sums import sides


def test_the_cost_a_year_is_the_mean_of_the_years_that_are_shown(firm):
    InfiltrationTestFactory(round=RoundFactory(surface=firm.surface), elapsed_s=700.0)
    forecasts.refresh(firm.surface.pk)
    care = Forecast.objects.get(surface=firm.surface).outlook.care

    for outcome in care.outcomes:
        worked = worked_care(outcome, "EUR")

        step, shown = sides(worked.with_numbers)
        assert step == pytest.approx(shown, abs=0.02)
        assert worked.with_numbers.endswith(f"= {outcome.cost_a_year.mean:,.2f} EUR")
        (total,) = worked.then
        step, shown = sides(total)
        assert step == pytest.approx(shown, abs=0.02)
        assert total.endswith(f"= {outcome.total_10:,.2f} EUR")


def advised(area_m2=800.0, terms=None, **changes):
    terms = terms or Terms(Decimal("0.45"), Decimal("220.00"), 2000.0)
    values = {
        "cost": cleaning_cost(terms, area_m2),
        "crew_hours": hours_needed(terms, area_m2),
        "currency": "EUR",
    }
    return Recommendation(surface=Surface(area_m2=area_m2), **values | changes), terms


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize(("area_m2", "least"), [(800.0, False), (120.0, True)])
def test_price_and_hours_follow_from_area_and_terms(area_m2, least, system):
    row, terms = advised(area_m2)

    worked = worked_price(row, terms, system.value)

    step, shown = sides(worked.with_numbers)
    # 0.45 a m² is 0.041806 a ft², shown as 0.0418
    assert step == pytest.approx(shown, abs=0.01 if system is UnitSystem.SI else 0.0002 * shown)
    said = " ".join((worked.with_numbers, worked.words, *worked.then))
    other = {UnitSystem.SI: "ft²", UnitSystem.US: "m²"}[system]
    assert unit_of(Quantity.AREA, system) in said
    assert unit_of(Quantity.OUTPUT, system) in said
    assert other not in said
    larger, hours = worked.then
    assert larger.startswith("the minimum charge is more") is least
    by_area, minimum = shown, float(re.search(r", ([\d.,]+):", larger)[1].replace(",", ""))
    assert max(by_area, minimum) == pytest.approx(float(row.cost))
    assert larger.endswith(f"{row.cost:,.2f} EUR")
    step, shown = sides(hours)
    assert step == pytest.approx(shown, rel=0.01)
    assert hours.endswith(f"= {figure(row.crew_hours)} h")


def test_a_price_that_was_changed_since_is_not_worked_through():
    row, terms = advised()

    assert worked_price(row, Terms(Decimal("0.60"), terms.minimum_charge, 2000.0), "si") is None
    assert worked_price(row, None, "si") is None
    assert worked_price(advised(cost=None)[0], terms, "si") is None


def test_hours_by_another_output_are_left_out():
    row, terms = advised(crew_hours=9.0)

    assert len(worked_price(row, terms, "si").then) == 1


def test_a_price_typed_by_the_ft2_is_worked_through_as_it_was_typed():
    """10,000 ft² at 0.25 are 2,500."""
    row, terms = advised(929.0304, Terms(Decimal("2.6910"), Decimal(100), 185.80608))

    worked = worked_price(row, terms, "us")

    assert worked.with_numbers.replace("\u202f", ",") == "p · A = 0.25 · 10,000 ft² = 2,500.02 EUR"
    assert worked.then[1].replace("\u202f", ",") == "hours = 10,000 ft² / 2000 ft²/h = 5 h"
