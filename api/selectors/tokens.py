"""Tokens: whose there are, for what one can be made, and who calls with one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from allauth.mfa.utils import is_mfa_enabled
from django.db.models import F, Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models import Membership, Organisation, Owner, OwnerPerson, User
from accounts.models.tenancy import get_for_user
from api.calc.problems import ProblemError
from api.calc.scopes import Scope, scopes_of
from api.models import ApiToken, ApiTokenQuerySet
from core.calc.secrets import hash_of

UNKNOWN = gettext_noop(
    "This token is not known here. Send one as it was shown when it was made, after the word Bearer."
)
ENDED = gettext_noop("The token “%(name)s” was ended. Make a new one on the page of tokens.")
RUN_OUT = gettext_noop("The token “%(name)s” ran out at %(at)s. Make a new one on the page of tokens.")
NO_PERSON = gettext_noop(
    "Whoever made the token “%(name)s” may not sign in any more. Somebody else must make one."
)
NO_ROLE = gettext_noop(
    "Whoever made the token “%(name)s” has no part in %(place)s any more. Somebody else must make one."
)
NO_FACTOR = gettext_noop(
    "%(firm)s asks its people for a second factor. Set it up in the web tool; then this token counts again."
)


@dataclass(frozen=True, slots=True)
class Place:
    """Something for which a person can have a token: their firm in a role, or an owner whose sites they read."""

    organisation: Organisation
    role: Role
    owner: Owner | None = None

    @property
    def key(self) -> str:
        """Names it in an address."""
        return str(self.owner.pk if self.owner else self.organisation.pk)

    @property
    def name(self) -> str:
        """The firm, or the owner with the firm that works for it."""
        if self.owner is None:
            return str(self.organisation)
        return _("{owner} (by {firm})").format(owner=self.owner, firm=self.organisation)

    @property
    def scopes(self) -> list[Scope]:
        """What a token for it can be given."""
        return scopes_of(self.role)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks with a token, and as what."""

    token: ApiToken
    role: Role

    @property
    def person(self) -> User:
        """Who made the token: what it records, that person recorded."""
        return self.token.person

    @property
    def organisation(self) -> Organisation:
        """The firm it acts in, or that works for its owner."""
        return self.token.organisation

    @property
    def owner(self) -> Owner | None:
        """The owner whose sites it reads; None where it acts in a firm."""
        return self.token.owner

    @property
    def audience(self) -> Audience:
        """As whom it reads."""
        return Audience.OWNER if self.owner else Audience.FIRM


def places_of(user: User) -> Sequence[Place]:
    """Everything for which a person can have a token."""
    members = Membership.objects.filter(user=user).select_related("organisation")
    readers = OwnerPerson.objects.filter(user=user).select_related("owner__organisation")
    return (
        *(Place(row.organisation, Role(row.role)) for row in members),
        *(Place(row.owner.organisation, Role.OWNER, row.owner) for row in readers),
    )


def own_tokens(user: User) -> ApiTokenQuerySet:
    """The tokens that a person made, those that count first."""
    rows = ApiToken.objects.of_person(user)
    return rows.select_related("organisation", "owner").order_by(
        F("revoked_at").asc(nulls_first=True), "-expires_at", "pk"
    )


def tokens_of_firm(user: User, organisation: Organisation) -> ApiTokenQuerySet:
    """All of a firm, its owners' among them, for who administers it."""
    rows = ApiToken.objects.for_user(user, Role.ADMIN).of_organisation(organisation)
    return rows.select_related("person", "owner", "organisation")


def token_to_end(user: User, pk: UUID) -> ApiToken:
    """One's own, or as an admin one of the firm; 404 and 403 as everywhere."""
    mine = ApiToken.objects.of_person(user).filter(pk=pk).first()
    return mine or get_for_user(ApiToken, user, Role.ADMIN, pk=pk)


def token_behind(secret: str) -> ApiToken | None:
    """The token of a secret, whether or not it still counts."""
    rows = ApiToken.objects.select_related("person", "organisation", "owner")
    return rows.filter(token_hash=hash_of(secret)).first()


def caller_with(token: ApiToken, at: datetime) -> Caller:
    """Who calls with it, in the role of now. Raises ProblemError, 401 or 403, where it does not count."""
    said = {"name": token.name, "place": token.owner or token.organisation}
    if token.revoked_at is not None:
        raise ProblemError(401, _(ENDED) % said)
    if token.has_run_out(at):
        raise ProblemError(401, _(RUN_OUT) % (said | {"at": f"{token.expires_at:%Y-%m-%d %H:%M} UTC"}))
    if not token.person.is_active:
        raise ProblemError(401, _(NO_PERSON) % said)
    role = _role_now(token)
    if role is None:
        raise ProblemError(401, _(NO_ROLE) % said)
    if token.owner is None and token.organisation.second_factor and not is_mfa_enabled(token.person):
        raise ProblemError(403, _(NO_FACTOR) % {"firm": token.organisation})
    return Caller(token, role)


def _role_now(token: ApiToken) -> Role | None:
    """The role of its person in its firm, or as a reader of its owner; None where there is none."""
    if token.owner_id is not None:
        reads = OwnerPerson.objects.filter(owner=token.owner_id, user=token.person_id)
        return Role.OWNER if reads.exists() else None
    found = Membership.objects.filter(organisation=token.organisation_id, user=token.person_id)
    role = found.values_list("role", flat=True).first()
    return None if role is None else Role(role)


def open_count(person: User, at: datetime) -> int:
    """How many tokens of a person count."""
    return ApiToken.objects.filter(Q(person=person)).open(at).count()
