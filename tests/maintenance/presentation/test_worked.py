"""Money of care worked through: the steps that are shown give the figures that are shown."""

import re
from decimal import Decimal

import pytest

from core.calc.format import figure
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


@pytest.mark.parametrize(("area_m2", "least"), [(800.0, False), (120.0, True)])
def test_price_and_hours_follow_from_area_and_terms(area_m2, least):
    row, terms = advised(area_m2)

    worked = worked_price(row, terms)

    step, shown = sides(worked.with_numbers)
    assert step == pytest.approx(shown, abs=0.01)
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

    assert worked_price(row, Terms(Decimal("0.60"), terms.minimum_charge, 2000.0)) is None
    assert worked_price(row, None) is None
    assert worked_price(advised(cost=None)[0], terms) is None


def test_hours_by_another_output_are_left_out():
    row, terms = advised(crew_hours=9.0)

    assert len(worked_price(row, terms).then) == 1
