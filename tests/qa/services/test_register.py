"""Registering sites, surfaces, build-ups and locations."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from core.calc.format import day as day_words
from core.calc.months import Months
from qa.models import Layer, Location, Site, Surface
from qa.services import changes, register
from tests.factories import (
    InfiltrationTestFactory,
    LayerFactory,
    LocationFactory,
    OwnerFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)

pytestmark = pytest.mark.django_db


def version_of(surface):
    return Surface.objects.get(pk=surface.pk).record_version


def test_an_owner_of_another_firm_is_refused_by_name():
    mine, theirs = OwnerFactory(), OwnerFactory(name="Somebody else")
    site = Site(organisation=mine.organisation, owner=theirs, name="Yard")

    with pytest.raises(ValidationError, match="Somebody else is not an owner of"):
        register.save_site(site=site)

    assert not Site.objects.exists()


@pytest.mark.parametrize("position", [(48.1, None), (None, 11.5)])
def test_half_a_position_is_refused(position):
    site = SiteFactory()
    site.latitude_deg, site.longitude_deg = position

    with pytest.raises(ValidationError, match="both latitude and longitude"):
        register.save_site(site=site)


def test_the_database_itself_refuses_half_a_position():
    site = SiteFactory()

    with pytest.raises(IntegrityError), transaction.atomic():
        Site.objects.filter(pk=site.pk).update(latitude_deg=48.1)


def test_new_frost_months_make_the_advice_anew():
    surface = SurfaceFactory()
    before = version_of(surface)
    surface.site.frost_months = Months((12, 1, 2))

    register.save_site(site=surface.site)

    assert version_of(surface) == before + 1


def test_a_surface_cannot_have_opened_long_after_its_tests():
    surface = SurfaceFactory(opened_on=date(2020, 5, 1))
    RoundFactory(surface=surface, tested_on=date(2021, 6, 1))
    surface.opened_on = date(2022, 1, 1)

    with pytest.raises(ValidationError, match=r"1.*Jun.*2021"):
        register.save_surface(surface=surface)


def test_tests_set_aside_do_not_bind_the_opening_date():
    surface = SurfaceFactory(opened_on=date(2020, 5, 1))
    RoundFactory(surface=surface, tested_on=date(2021, 6, 1), state="void")
    surface.opened_on = date(2022, 1, 1)

    register.save_surface(surface=surface)

    surface.refresh_from_db()
    assert surface.opened_on == date(2022, 1, 1)


@pytest.mark.parametrize("day", [date(1, 1, 1), date(1899, 12, 31), date(9999, 12, 31)])
def test_an_opening_day_that_no_calendar_needs_is_refused(day):
    surface = SurfaceFactory()
    surface.opened_on = day

    with pytest.raises(ValidationError, match=day_words(day).replace("\xa0", ".*") + " is too far away"):
        register.save_surface(surface=surface)


def test_a_removal_still_to_come_is_refused():
    surface = SurfaceFactory()
    surface.removed_on = surface.site.today() + timedelta(days=1)

    with pytest.raises(ValidationError, match="still to come"):
        register.save_surface(surface=surface)


def test_a_surface_form_left_open_does_not_take_the_record_back():
    """Somebody records a test while the surface's form is open; saving the form must not hide that."""
    surface = SurfaceFactory()
    opened = Surface.objects.get(pk=surface.pk)
    changes.bump_record_version(surface.pk)
    changes.bump_record_version(surface.pk)

    register.save_surface(surface=opened)

    assert version_of(surface) == surface.record_version + 3


def test_layers_are_numbered_from_the_top_in_the_order_given():
    surface = SurfaceFactory()
    base, bedding = LayerFactory(surface=surface, kind="base"), LayerFactory(surface=surface, kind="bedding")
    course = Layer(kind="surface_course", thickness_mm=80.0)

    register.save_build_up(surface=surface, layers=[course, bedding, base], removed=[])

    assert [(layer.kind, layer.position) for layer in surface.layers.all()] == [
        ("surface_course", 1),
        ("bedding", 2),
        ("base", 3),
    ]


def test_a_bad_layer_stores_none_of_the_build_up():
    surface = SurfaceFactory()
    kept = LayerFactory(surface=surface)
    kept_id = kept.pk
    bad = Layer(kind="bedding", thickness_mm=None)

    with pytest.raises(ValidationError, match="needs a thickness"):
        register.save_build_up(
            surface=surface, layers=[Layer(kind="base", thickness_mm=300.0), bad], removed=[kept]
        )

    assert list(surface.layers.values_list("pk", flat=True)) == [kept_id]


def test_a_tested_location_is_retired_and_an_untested_one_removed():
    surface = SurfaceFactory()
    tested, untested = LocationFactory(surface=surface), LocationFactory(surface=surface)
    InfiltrationTestFactory(round=RoundFactory(surface=surface), location=tested)

    register.save_locations(surface=surface, locations=[], removed=[tested, untested])

    assert list(Location.objects.values_list("pk", "retired")) == [(tested.pk, True)]
