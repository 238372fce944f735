"""Which firms a person belongs to."""

from accounts.models import Membership, OwnerPerson, User


def memberships_of(user: User) -> list[Membership]:
    """The person's memberships with their firms, the highest role first."""
    return list(Membership.objects.filter(user=user).select_related("organisation"))


def reads_for_an_owner(user: User) -> bool:
    """Whether the person reads the sites of some owner."""
    return OwnerPerson.objects.filter(user=user).exists()
