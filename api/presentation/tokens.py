"""Tokens as their page shows them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.utils.translation import gettext as _

from api.calc.scopes import in_words
from api.models import ApiToken

SOON = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class TokenLine:
    """One token. state: a word for how it stands; look: of that word; can_end: whether there is anything to end."""

    pk: UUID
    name: str
    prefix: str
    place: str
    person: str
    may: str
    made_at: datetime
    expires_at: datetime
    last_used_at: datetime | None
    state: str
    look: str
    can_end: bool


def token_lines(rows: Iterable[ApiToken], at: datetime) -> list[TokenLine]:
    """Tokens as lines. Expects person, owner and organisation joined."""
    return [_line(row, at) for row in rows]


def _line(row: ApiToken, at: datetime) -> TokenLine:
    state, look = _state(row, at)
    return TokenLine(
        pk=row.pk,
        name=row.name,
        prefix=row.prefix,
        place=str(row.owner or row.organisation),
        person=str(row.person),
        may=in_words(row.scopes),
        made_at=row.created_at,
        expires_at=row.expires_at,
        last_used_at=row.last_used_at,
        state=state,
        look=look,
        can_end=row.is_open(at),
    )


def _state(row: ApiToken, at: datetime) -> tuple[str, str]:
    if row.revoked_at is not None:
        return _("Ended"), ""
    if row.has_run_out(at):
        return _("Run out"), ""
    return (_("Runs out soon"), "tag--warn") if row.expires_at - at < SOON else (_("In use"), "tag--good")
