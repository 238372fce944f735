"""What a crew does in an hour and charges by area, in the reader's units."""

from decimal import Decimal

import pytest

from core.calc.paving import CleaningMethod
from planning.calc.outputs import Output
from planning.models import CrewMethod
from planning.presentation.crews import crew_facts, output_rows
from tests.factories import CrewFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ("si", "Vacuum sweeping, 185.806 m²/h, 2.691 EUR per m²"),
        ("us", "Vacuum sweeping, 2000 ft²/h, 0.25 EUR per ft²"),
    ],
)
def test_equipment_is_told_in_the_readers_units(units, said):
    """2,000 ft² are 185.80608 m², and 0.25 a ft² is 2.6910 a m²."""
    crew = CrewFactory(organisation__currency="EUR")
    CrewMethod.objects.create(
        crew=crew, method="vacuum", output_m2_h=185.80608, cost_per_m2=Decimal("2.6910")
    )

    assert dict(crew_facts(crew, units))["Equipped for"] == said


@pytest.mark.parametrize(
    ("units", "said", "range_"),
    [
        ("si", "186 m²/h", "5 jobs told: 8 in 10 between 93 and 279 m²/h"),
        ("us", "2000 ft²/h", "5 jobs told: 8 in 10 between 1000 and 3000 ft²/h"),
    ],
)
def test_outputs_that_were_learnt_are_told_in_the_readers_units(units, said, range_):
    crew = CrewFactory()
    learnt = Output(185.80608, 5, 92.90304, 278.70912)

    assert output_rows(crew, {(crew.pk, CleaningMethod.VACUUM): learnt}, units) == [
        ("Vacuum sweeping", said, range_)
    ]
