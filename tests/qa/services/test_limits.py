import pytest
from django.core.exceptions import ValidationError

from qa.models import OwnLimit, Surface
from qa.selectors.surface_limits import acceptance_of, limit_known, limit_of
from qa.services.limits import retire_own_limit, save_own_limit
from qa.services.register import save_surface
from tests.factories import OrganisationFactory, OwnLimitFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


def surface_with(**fields):
    return SurfaceFactory(limit_mm_h=1.0, limit_source="to be worked out", **fields)


def test_a_preset_gives_the_limit_and_its_source():
    surface = save_surface(surface=surface_with(limit_preset="ontario"))

    surface.refresh_from_db()

    assert surface.limit_mm_h == 250
    assert surface.limit_source.startswith("Ontario (clean when below 250 mm/h): Ontario LID")


def test_more_run_on_raises_the_limit_of_a_design_rain():
    surface = save_surface(surface=surface_with(design_intensity_mm_h=100, run_on_area_m2=500))

    surface.run_on_area_m2 = 2000
    save_surface(surface=surface)

    surface.refresh_from_db()
    assert surface.limit_mm_h == pytest.approx(300)
    assert acceptance_of(surface).limit_mm_h == pytest.approx(3000)


def test_a_bare_limit_is_taken_as_agreed():
    surface = save_surface(
        surface=SurfaceFactory.build(site=SurfaceFactory().site, limit_source="letter of May")
    )

    assert (surface.agreed_limit_mm_h, surface.agreed_source) == (250, "letter of May")
    assert limit_of(surface).reason == "250 mm/h, from the agreement with the owner (letter of May)."


def test_a_rule_without_a_limit_in_service_is_refused_beside_the_rule():
    with pytest.raises(ValidationError) as caught:
        save_surface(surface=surface_with(limit_preset="brazil"))

    assert "No limit is known" in caught.value.message_dict["rule"][0]


def test_a_rule_nobody_knows_is_refused_with_its_key():
    with pytest.raises(ValidationError, match="atlantis is not a rule of the list"):
        save_surface(surface=surface_with(limit_preset="atlantis"))


def test_a_rule_of_another_firm_is_refused():
    with pytest.raises(ValidationError, match="is a rule of another firm"):
        save_surface(surface=surface_with(own_limit=OwnLimitFactory()))


def test_a_changed_own_limit_changes_the_surfaces_that_use_it_and_no_others():
    own = OwnLimitFactory()
    mine = SurfaceFactory(site__organisation=own.organisation, own_limit=own, limit_mm_h=300)
    other = SurfaceFactory()

    own.limit_mm_h = 400
    save_own_limit(own=own)

    before = mine.record_version
    mine.refresh_from_db()
    other.refresh_from_db()
    assert (mine.limit_mm_h, other.limit_mm_h) == (400, 250)
    assert mine.record_version == before + 1
    assert mine.history.count() == 2


def test_an_own_limit_cannot_leave_a_surface_without_one():
    own = OwnLimitFactory()
    surface = SurfaceFactory(site__organisation=own.organisation, own_limit=own)

    own.limit_mm_h = None
    with pytest.raises(ValidationError, match="would be left without a limit"):
        save_own_limit(own=own)

    assert OwnLimit.objects.get(pk=own.pk).limit_mm_h == 300
    assert limit_of(Surface.objects.get(pk=surface.pk)).limit_mm_h == 300


def test_an_own_limit_that_says_nothing_is_refused():
    empty = OwnLimit(organisation=OrganisationFactory(), name="x", source="y")

    with pytest.raises(ValidationError, match="Enter the limit in service, the rate when new, or both"):
        save_own_limit(own=empty)


def test_a_retired_limit_stays_with_its_surfaces():
    own = OwnLimitFactory()
    surface = SurfaceFactory(site__organisation=own.organisation, own_limit=own)

    retire_own_limit(own=own)

    assert not OwnLimit.objects.offered().exists()
    assert save_surface(surface=surface).limit_mm_h == 300


def test_a_row_without_ingredients_has_no_known_reason():
    assert limit_known(SurfaceFactory()) is None
