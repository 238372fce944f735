"""Build-ups that serve for more than one surface."""

import pytest
from django.core.exceptions import ValidationError

from qa.calc.buildups import typical_layers
from qa.models import KeptBuildUp
from qa.services.build_ups import ITS_OWN, copy_build_up, drop_build_up, keep_build_up, start_like
from tests.factories import LayerFactory, SiteFactory, SurfaceFactory
from tests.refusals import refused


@pytest.fixture
def built(firm):
    for position, kind in enumerate(("surface_course", "bedding", "base"), start=1):
        LayerFactory(surface=firm.surface, position=position, kind=kind, thickness_mm=position * 40.0)
    return firm


def test_layers_are_kept_in_their_order_with_their_type(built):
    kept = keep_build_up(surface=built.surface, name="  Yard  ")

    assert kept.name == "Yard"
    assert kept.surface_type == built.surface.surface_type
    assert [layer.thickness_mm for layer in kept.layers.layers] == [40.0, 80.0, 120.0]


def test_the_same_name_is_replaced_in_the_same_firm_alone(built):
    keep_build_up(surface=built.surface, name="Yard")
    other = SurfaceFactory()
    LayerFactory(surface=other, position=1, kind="base", thickness_mm=7.0)
    keep_build_up(surface=other, name="Yard")
    built.surface.layers.last().delete()

    keep_build_up(surface=built.surface, name="Yard")

    assert KeptBuildUp.objects.of_organisation(built.organisation).count() == 1
    assert len(KeptBuildUp.objects.of_organisation(built.organisation).get().layers.layers) == 2
    assert len(KeptBuildUp.objects.of_organisation(other.organisation).get().layers.layers) == 1


def test_nothing_is_kept_of_a_surface_without_layers(firm):
    with refused(ValidationError, "has no layers yet"):
        keep_build_up(surface=firm.surface, name="Yard")


@pytest.mark.parametrize("name", ["", "   ", "x" * 81])
def test_a_name_that_cannot_be_is_refused(built, name):
    with refused(ValidationError):
        keep_build_up(surface=built.surface, name=name)


def test_what_is_kept_no_longer_changes_no_surface(built):
    drop_build_up(kept=keep_build_up(surface=built.surface, name="Yard"))

    assert not KeptBuildUp.objects.exists()
    assert built.surface.layers.count() == 3


def test_a_copy_has_its_own_layers_and_its_forecast_is_made_anew(built):
    to = SurfaceFactory(site=built.site)

    assert copy_build_up(source=built.surface, to=to) == 3

    assert list(to.layers.values_list("kind", "thickness_mm", "position")) == list(
        built.surface.layers.values_list("kind", "thickness_mm", "position")
    )
    assert not set(to.layers.values_list("pk", flat=True)) & set(
        built.surface.layers.values_list("pk", flat=True)
    )
    before = to.record_version
    to.refresh_from_db()
    assert to.record_version > before


def test_a_surface_with_layers_keeps_them(built):
    to = SurfaceFactory(site=built.site)
    LayerFactory(surface=to, position=1, kind="base")

    assert copy_build_up(source=built.surface, to=to) == 0
    assert to.layers.count() == 1


def test_nothing_to_copy_is_no_change(firm):
    to = SurfaceFactory(site=firm.site)

    assert copy_build_up(source=firm.surface, to=to) == 0
    before = to.record_version
    to.refresh_from_db()
    assert to.record_version == before


def test_one_like_another_has_everything_but_its_own(firm):
    source = firm.surface
    source.trees, source.run_on_area_m2, source.note = True, 55.0, "Only here"
    other = SiteFactory(owner=firm.owner)

    made = start_like(source=source, site=other)

    assert made._state.adding
    assert made.pk != source.pk
    assert (made.site, made.trees, made.run_on_area_m2, made.surface_type) == (
        other,
        True,
        55.0,
        source.surface_type,
    )
    assert (made.name, made.note, made.opened_on, made.device_id) == ("", "", None, None)
    assert {field.name for field in made._meta.concrete_fields} >= ITS_OWN


OF_ITS_PLACE = {
    "agreed_limit_mm_h": 300.0,
    "agreed_source": "The contract",
    "acceptance_rate_mm_h": 5000.0,
    "reuse_store_m3": 3.0,
    "soil_measured_mm_h": 20.0,
    "soil_safety_factor": 2.0,
    "soil_rate_mm_h": 10.0,
    "subgrade_slope_percent": 2.0,
    "subgrade_fall_length_m": 12.0,
    "foundation_distance_m": 6.0,
    "well_distance_m": 50.0,
    "water_table_depth_m": 2.5,
}


@pytest.mark.parametrize("name", OF_ITS_PLACE)
def test_what_was_measured_or_agreed_at_one_place_is_not_taken_to_another(firm, name):
    setattr(firm.surface, name, OF_ITS_PLACE[name])

    made = start_like(source=firm.surface, site=firm.site)

    assert getattr(made, name) in (None, "")


def test_the_usual_layers_of_every_type_can_be_kept(firm):
    for n, layer in enumerate(typical_layers(firm.surface.surface_type), start=1):
        values = {name: getattr(layer, name) for name in ("kind", "material", "thickness_mm", "porosity")}
        LayerFactory(surface=firm.surface, position=n, **values)

    kept = keep_build_up(surface=firm.surface, name="Usual")

    kept.refresh_from_db()
    assert [layer.kind for layer in kept.layers.layers] == [
        layer.kind for layer in typical_layers(firm.surface.surface_type)
    ]
