"""The column of folded words is true however a row is stored."""

import pytest

from accounts.models import Owner
from core.models.folded import FoldedText, fold_row
from qa.models import Site
from tests.factories import OrganisationFactory, OwnerFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


def test_it_is_filled_when_a_row_is_made_and_when_it_changes():
    owner = OwnerFactory(name="Café Ólafur")
    assert owner.words == " cafe olafur "

    owner.name = "Überlingen"
    owner.save()

    owner.refresh_from_db()
    assert owner.words == " uberlingen "


def test_it_is_filled_where_rows_are_stored_in_bulk():
    organisation = OrganisationFactory()

    Owner.objects.bulk_create([Owner(organisation=organisation, name="Ærø", address="1 Øst")])

    stored = Owner.objects.get(name="Ærø")
    assert (stored.words, stored.place_words) == (" aero ", " 1 ost 1ost ")


def test_a_row_that_is_stored_raw_is_filled_by_hand():
    site = SiteFactory()
    site.name = "Örebro"
    fold_row(site)
    site.save_base(raw=True, force_update=True)

    assert Site.objects.get(pk=site.pk).words == " orebro "


def test_neither_form_nor_history_carries_it():
    surface = SurfaceFactory(name="Yard")

    assert not surface._meta.get_field("words").editable
    assert not hasattr(surface.history.first(), "words")


def test_a_migration_knows_what_it_is_filled_from():
    field = Site._meta.get_field("words")

    name, path, args, kwargs = field.deconstruct()

    assert (name, args, kwargs["of"]) == ("words", [], ("name",))
    assert path.endswith("FoldedText")
    assert FoldedText(**kwargs).of == ("name",)
