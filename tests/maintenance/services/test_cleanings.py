"""Recording cleanings, and the terms of the methods."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from core.calc.format import day as day_words
from core.calc.paving import CleaningMethod
from maintenance.models import CleaningEvent, MethodTerms
from maintenance.services import cleanings
from qa.models import Surface
from tests.factories import (
    CleaningFactory,
    OrganisationFactory,
    SurfaceFactory,
    UserFactory,
    VisitTaskFactory,
)

pytestmark = pytest.mark.django_db


def cleaning(surface, **changes):
    return CleaningEvent(**{"surface": surface, "cleaned_on": date(2024, 7, 1), "method": "vacuum"} | changes)


def version_of(surface):
    return Surface.objects.get(pk=surface.pk).record_version


def test_a_cleaning_is_kept_in_the_firms_currency_and_makes_the_forecast_stale():
    surface = SurfaceFactory(site__owner__organisation__currency="CHF")
    before = version_of(surface)

    event = cleanings.record_cleaning(event=cleaning(surface, cost=Decimal("450.00")), by=UserFactory())

    assert event.currency == "CHF"
    assert version_of(surface) == before + 1


def test_a_cleaning_of_tomorrow_is_refused_by_its_date():
    surface = SurfaceFactory()
    tomorrow = surface.site.today() + timedelta(days=1)

    with pytest.raises(ValidationError, match=day_words(tomorrow).replace("\xa0", ".*")):
        cleanings.record_cleaning(event=cleaning(surface, cleaned_on=tomorrow), by=UserFactory())


def test_a_cleaning_before_the_opening_is_refused_with_both_dates():
    surface = SurfaceFactory(opened_on=date(2024, 8, 1))

    with pytest.raises(ValidationError, match=r"1.*Jul.*2024 is before the surface opened on 1.*Aug.*2024"):
        cleanings.record_cleaning(event=cleaning(surface), by=UserFactory())


@pytest.mark.parametrize(
    ("method", "name", "value"),
    [("broom", "pressure_bar", 80.0), ("broom", "depth_out_mm", 20.0), ("relay", "passes", 2)],
)
def test_what_a_way_of_cleaning_has_not_is_refused_beside_its_entry(method, name, value):
    odd = cleaning(SurfaceFactory(), method=method, **{name: value})

    with pytest.raises(ValidationError) as refusal:
        cleanings.record_cleaning(event=odd, by=UserFactory())

    assert list(refusal.value.error_dict) == [name]


def test_a_washing_keeps_passes_pressure_depth_people_and_ticket():
    given = {
        "passes": 2,
        "pressure_bar": 80.0,
        "depth_out_mm": 25.0,
        "done_by": "Crew 1",
        "equipment": "wide-fan washer with suction",
        "disposal_ticket": "T-17",
        "disposal_place": "Northgate tip",
    }

    event = cleanings.record_cleaning(
        event=cleaning(SurfaceFactory(), method="wash_vacuum", **given), by=UserFactory()
    )

    stored = CleaningEvent.objects.get(pk=event.pk)
    assert {name: getattr(stored, name) for name in given} == given
    assert stored.disposal == "ticket T-17, Northgate tip"


def test_a_cleaning_sent_twice_is_stored_once():
    surface, device_id = SurfaceFactory(), uuid4()
    first = cleanings.record_cleaning(event=cleaning(surface, device_id=device_id), by=UserFactory())

    second = cleanings.record_cleaning(event=cleaning(surface, device_id=device_id), by=UserFactory())

    assert second == first
    assert CleaningEvent.objects.count() == 1


@pytest.mark.parametrize("share", [0.0, -0.5, 1.01])
def test_a_share_of_the_area_lies_above_0_and_at_most_1(share):
    with pytest.raises(ValidationError) as refusal:
        cleanings.record_cleaning(event=cleaning(SurfaceFactory(), share_of_area=share), by=UserFactory())

    assert "share_of_area" in refusal.value.error_dict


def test_a_corrected_cleaning_takes_over_the_visit_task():
    old = CleaningFactory()
    task = VisitTaskFactory(surface=old.surface, action="clean", cleaning=old)
    new = cleaning(old.surface, method="broom")

    cleanings.correct_cleaning(old=old, new=new, by=UserFactory(), reason="It was the broom.")

    task.refresh_from_db()
    assert task.cleaning == new


def test_a_cleaning_set_aside_makes_the_forecast_stale():
    event = CleaningFactory()
    before = version_of(event.surface)

    cleanings.void_cleaning(event=event, by=UserFactory(), reason="Another yard.")

    assert version_of(event.surface) == before + 1


def test_a_firm_starts_with_terms_for_every_method_once():
    firm = OrganisationFactory()
    cleanings.terms_of(firm)

    terms = cleanings.terms_of(firm)

    assert set(terms) == set(CleaningMethod.values)
    assert MethodTerms.objects.count() == len(terms)


def test_one_bad_price_stores_none_of_them():
    firm = OrganisationFactory()
    rows = list(cleanings.terms_of(firm).values())
    rows[0].cost_per_m2, rows[1].cost_per_m2 = Decimal("9.99"), Decimal("-1")

    with pytest.raises(ValidationError):
        cleanings.save_terms(rows=rows)

    assert not MethodTerms.objects.filter(cost_per_m2=Decimal("9.99")).exists()
