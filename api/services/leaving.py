"""What ends when somebody leaves a firm or reads for an owner no more: told by the row that goes, however it goes."""

from accounts.models import Membership, OwnerPerson
from api.services.tokens import end_tokens_for


def member_left(*, instance: Membership, **_: object) -> None:
    """End the tokens of who left a firm for that firm."""
    end_tokens_for(person_id=instance.user_id, organisation=instance.organisation_id, owner=None)


def reader_left(*, instance: OwnerPerson, **_: object) -> None:
    """End the tokens of who reads for an owner no more for that owner."""
    end_tokens_for(person_id=instance.user_id, owner=instance.owner_id)
