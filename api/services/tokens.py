"""Everything done to tokens: made, ended, used."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import User
from api.calc.scopes import Scope, ScopeSet, in_words
from api.calc.sendings import sending_id
from api.models import ApiToken
from api.selectors.tokens import Place, open_count
from core.calc.secrets import hash_of, new_secret
from core.errors import AlreadyDoneError
from core.models.rows import validate_and_save

START = "rain_"  # so that a program which looks for secrets in files knows one
PREFIX_SIGNS = len(START) + 6
MOST_DAYS, MOST_OPEN = 366, 20
NOTED_EACH = timedelta(minutes=1)
NO_SCOPE = gettext_noop("Tick at least one thing that it may do.")
TOO_FAR = gettext_noop("Your role does not reach so far: %(scopes)s Ask for a higher role, or leave it out.")
DAYS = gettext_noop("Give 1 to %(most)d days, not %(days)d. A new token can be made then.")
TOO_MANY = gettext_noop(
    "You have %(most)d tokens that count. End one that nothing uses any more, then make this one."
)
MADE_BEFORE = gettext_noop(
    "This was sent before, and the token that it made was used or ended since. Its secret is shown once: take it from "
    "where you put it, or open this page anew to make another token."
)
ENDED_BEFORE = gettext_noop("This token was ended before.")


@dataclass(frozen=True, slots=True)
class MadeToken:
    """A new token, and the only time that its secret is known."""

    token: ApiToken
    secret: str
    again: bool = False  # whether it stands in place of a secret that was shown before


@transaction.atomic
def make_token(
    *, place: Place, person: User, name: str, scopes: Iterable[Scope], days: int, sending: UUID | None = None
) -> MadeToken:
    """Store a token of a person for a place, good for some days. Raises ValidationError; nothing is stored then.

    days: 1 to MOST_DAYS. Its secret is 32 bytes from the system's source; only its hash is stored.
    sending: names what was sent, the same each time. Sent twice it is one token, which the secret given last opens: a
    browser shows the last answer alone.
    """
    given = tuple(scope for scope in Scope if scope in set(scopes))
    _refuse_scopes(given, place)
    if not 1 <= days <= MOST_DAYS:
        params = {"most": MOST_DAYS, "days": days}
        raise ValidationError({"days": ValidationError(_(DAYS), params=params)})
    User.objects.select_for_update().get(pk=person.pk)  # of two at once, the second finds the first
    key = sending_id(sending, place.key, str(person.pk)) if sending else uuid4()
    if ApiToken.objects.filter(pk=key).exists():
        return _made_before(key)
    if open_count(person, now()) >= MOST_OPEN:
        raise ValidationError(_(TOO_MANY), params={"most": MOST_OPEN})
    token = ApiToken(
        pk=key, organisation=place.organisation, owner=place.owner, person=person, name=name.strip()
    )
    token.scope_set, token.expires_at = ScopeSet(given), now() + timedelta(days=days)
    secret = START + new_secret()
    token.prefix, token.token_hash = secret[:PREFIX_SIGNS], hash_of(secret)
    validate_and_save(token)
    return MadeToken(token, secret)


def _made_before(key: UUID) -> MadeToken:
    """The token of an earlier sending with a new secret, unless it was used or ended meanwhile."""
    secret = START + new_secret()
    unused = ApiToken.objects.filter(pk=key, last_used_at=None).open(now())
    if not unused.update(prefix=secret[:PREFIX_SIGNS], token_hash=hash_of(secret)):
        raise ValidationError(_(MADE_BEFORE))
    return MadeToken(ApiToken.objects.get(pk=key), secret, again=True)


def _refuse_scopes(given: tuple[Scope, ...], place: Place) -> None:
    if not given:
        raise ValidationError({"scopes": _(NO_SCOPE)})
    beyond = [scope for scope in given if scope not in place.scopes]
    if beyond:
        params = {"scopes": in_words(beyond)}
        raise ValidationError({"scopes": ValidationError(_(TOO_FAR), params=params)})


@transaction.atomic
def end_token(*, token: ApiToken, by: User) -> ApiToken:
    """End a token for good. Raises AlreadyDoneError for one that somebody ended before."""
    won = ApiToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=now(), revoked_by=by)
    if not won:
        raise AlreadyDoneError(_(ENDED_BEFORE))
    token.refresh_from_db()
    return token


@transaction.atomic
def end_tokens_for(*, person_id: int, **place: UUID | None) -> int:
    """End what still counts of a person's tokens for a place; how many. place: columns with ids, as of `Place`.

    Whoever comes back makes new ones: an old token lies where the person of then left it.
    """
    rows = ApiToken.objects.filter(person=person_id, revoked_at=None, **place)
    return rows.update(revoked_at=now())


def note_use(*, token_id: UUID, at: datetime) -> None:
    """Keep when a token was last used, to the minute: a program that asks often writes no row each time."""
    rows = ApiToken.objects.filter(pk=token_id)
    rows.filter(Q(last_used_at=None) | Q(last_used_at__lt=at - NOTED_EACH)).update(last_used_at=at)
