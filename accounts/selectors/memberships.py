"""Which firms a person belongs to."""

from accounts.models import Membership, OwnerPerson, User


def memberships_of(user: User) -> list[Membership]:
    """The person's memberships with their firms, the highest role first."""
    return list(Membership.objects.filter(user=user).select_related("organisation"))


def reads_for_an_owner(user: User) -> bool:
    """Whether the person reads the sites of some owner."""
    return OwnerPerson.objects.filter(user=user).exists()


def works_where_it_is_asked(user: User) -> bool:
    """Whether any firm of the person asks for a second factor: one query, for most people the end of the matter."""
    return Membership.objects.filter(user=user, organisation__second_factor=True).exists()
