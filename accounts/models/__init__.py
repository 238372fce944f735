"""People, firms, owners and invitations."""

from accounts.models.organisations import Membership, Organisation, OrganisationQuerySet
from accounts.models.owners import (
    Invitation,
    Owner,
    OwnerPerson,
    OwnerPersonQuerySet,
    OwnerQuerySet,
)
from accounts.models.people import User, UserManager

__all__ = [
    "Invitation",
    "Membership",
    "Organisation",
    "OrganisationQuerySet",
    "Owner",
    "OwnerPerson",
    "OwnerPersonQuerySet",
    "OwnerQuerySet",
    "User",
    "UserManager",
]
