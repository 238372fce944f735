"""Who a token acts for, as it is answered."""

from datetime import datetime
from uuid import UUID

from api.calc.rate import QUOTA, WINDOW_S
from api.calc.scopes import Scope
from api.presentation.base import Shown
from api.selectors.tokens import Caller


class RateOut(Shown):
    """How many requests it may send."""

    requests: int
    in_seconds: int


class WhoOut(Shown):
    """What a token is, and as what it acts."""

    token: str
    person: str
    firm: UUID
    firm_name: str
    owner: UUID | None
    """The owner whose sites it reads; null where it acts in the firm."""
    role: str
    scopes: list[Scope]
    """What it may do as things are: those that the role of its person still reaches."""
    expires_at: datetime
    rate: RateOut


def who_out(caller: Caller) -> WhoOut:
    """The token of a request."""
    token = caller.token
    return WhoOut(
        token=token.name,
        person=str(caller.person),
        firm=token.organisation_id,
        firm_name=str(caller.organisation),
        owner=token.owner_id,
        role=caller.role.label.lower(),
        scopes=[scope for scope in token.scopes if scope.verb.least_role <= caller.role],
        expires_at=token.expires_at,
        rate=RateOut(requests=QUOTA, in_seconds=WINDOW_S),
    )
