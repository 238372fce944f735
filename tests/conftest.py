"""The people every test knows."""

from types import SimpleNamespace

import pytest

from accounts.calc.roles import Role
from tests.factories import (
    MembershipFactory,
    OrganisationFactory,
    OwnerFactory,
    OwnerPersonFactory,
    SiteFactory,
    SurfaceFactory,
)

ROLES = {
    "viewer": Role.VIEWER,
    "technician": Role.TECHNICIAN,
    "coordinator": Role.COORDINATOR,
    "admin": Role.ADMIN,
}


@pytest.fixture
def firm(db):
    """A firm with its people, an owner with a person, a site with a surface; and an outsider with another firm."""
    organisation = OrganisationFactory()
    owner = OwnerFactory(organisation=organisation)
    site = SiteFactory(owner=owner)
    people = {
        name: MembershipFactory(organisation=organisation, role=role).user for name, role in ROLES.items()
    }
    return SimpleNamespace(
        organisation=organisation,
        owner=owner,
        site=site,
        surface=SurfaceFactory(site=site),
        owner_person=OwnerPersonFactory(owner=owner).user,
        outsider=MembershipFactory(role=Role.ADMIN).user,
        **people,
    )
