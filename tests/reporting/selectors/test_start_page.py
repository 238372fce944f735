"""The first page of an owner's people."""

import pytest

from reporting.selectors.sites import start_snapshot
from tests.clock import START
from tests.factories import OwnerFactory, OwnerPersonFactory, SiteFactory, SurfaceFactory, UserFactory

pytestmark = pytest.mark.django_db


def test_two_sites_of_one_name_of_two_firms_stand_on_the_first_page_each_once():
    person = UserFactory()
    for names in (("A", "C"), ("B", "D")):
        owner = OwnerFactory()
        OwnerPersonFactory(owner=owner, user=person)
        site = SiteFactory(owner=owner, name="School")
        for name in names:
            SurfaceFactory(site=site, name=name)

    listed = start_snapshot(person, START).sites

    assert sorted([surface.name for surface in site.surfaces] for site in listed) == [["A", "C"], ["B", "D"]]
