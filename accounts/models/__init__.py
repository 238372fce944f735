"""People, firms, owners and invitations."""

from accounts.models.notices import DigestMail, Notice, NoticeChoice, NoticeSettings
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
    "DigestMail",
    "Invitation",
    "Membership",
    "Notice",
    "NoticeChoice",
    "NoticeSettings",
    "Organisation",
    "OrganisationQuerySet",
    "Owner",
    "OwnerPerson",
    "OwnerPersonQuerySet",
    "OwnerQuerySet",
    "User",
    "UserManager",
]
