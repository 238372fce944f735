"""Restorations above the firm's sum: planned with a person's word alone, and nothing is stored without it."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from maintenance.calc.advice_payload import Grounds
from planning.models import Crew, Visit
from planning.services import visits
from tests.clock import TODAY
from tests.factories import CrewFactory
from tests.refusals import refused


@pytest.fixture
def restoration(firm):
    """Advice to renew the joints that costs more than advice alone may decide."""
    return firm.surface.recommendations.create(
        action="rejoint",
        method="joint_refill",
        due_on=TODAY,
        earliest_on=TODAY,
        currency="EUR",
        cost=Decimal("4500.00"),
        grounds=Grounds(firm.surface.record_version, ("Because.",), wants_word=True),
    )


def plan(firm, advice, **fields):
    crew = Crew.objects.filter(organisation=firm.organisation).first() or CrewFactory(
        organisation=firm.organisation
    )
    values = {"by": firm.coordinator, "visit_on": TODAY, "crew": crew}
    return visits.plan(recommendation=advice, **values | fields)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"decided": False},
        {"reason": "The owner agreed by telephone."},
        {"method": "vacuum", "reason": "Cheaper."},
        {"visit_on": date(2024, 7, 1)},
    ],
    ids=["nothing said", "no tick", "a reason alone", "another method", "a day in the past"],
)
def test_a_dear_restoration_without_the_tick_is_refused_with_nothing_stored(firm, restoration, fields):
    crew = CrewFactory(organisation=firm.organisation)

    with refused(ValidationError, "Say that you have decided on it", beside="decided"):
        plan(firm, restoration, crew=crew, **fields)

    restoration.refresh_from_db()
    assert restoration.is_open
    assert not Visit.objects.exists()


def test_a_dear_restoration_with_the_tick_is_planned_once(firm, restoration):
    visit = plan(firm, restoration, decided=True)

    restoration.refresh_from_db()
    assert [task.recommendation for task in visit.tasks.all()] == [restoration]
    assert (restoration.status, restoration.decided_by) == ("planned", firm.coordinator)


@pytest.mark.parametrize("decided", [False, True])
def test_advice_that_asks_for_no_word_needs_no_tick(firm, restoration, decided):
    restoration.grounds = Grounds(firm.surface.record_version, ("Because.",))
    restoration.save()

    assert plan(firm, restoration, decided=decided).tasks.count() == 1


def test_advice_of_the_first_schema_is_planned_without_the_tick(firm, restoration):
    stored = {"schema": 1, "record_version": 1, "reasons": ["Because."]}
    type(restoration).objects.filter(pk=restoration.pk).update(grounds_json=stored)
    restoration.refresh_from_db()

    assert restoration.wants_word is False
    assert plan(firm, restoration).tasks.count() == 1
