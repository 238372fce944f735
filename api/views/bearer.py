"""The token of a request: who calls, what the token may do, how often it asked."""

from typing import Any, ClassVar, cast

from django.http import HttpRequest
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from ninja.security import HttpBearer

from accounts.views.secret_addresses import count_unknown, sent_too_many_unknown
from api.calc.problems import ProblemError
from api.calc.rate import QUOTA, WINDOW_S, Allowance
from api.calc.scopes import Scope
from api.selectors.tokens import UNKNOWN, Caller, caller_with, token_behind
from api.services.limits import count_request
from api.services.tokens import note_use

NO_TOKEN = gettext_noop("No token was sent. Send one in the field Authorization, after the word Bearer.")
OTHER_SCHEME = gettext_noop(
    "The field Authorization holds no token after the word Bearer. Cookies and passwords do not count here."
)
NO_SCOPE = gettext_noop(
    "This needs the scope %(scope)s, which the token “%(name)s” does not have. Make one that has it."
)
LOW_ROLE = gettext_noop(
    "This needs the %(needed)s role in %(firm)s; %(person)s has the %(role)s role. Ask who administers it."
)
SPENT = gettext_noop(
    "More than %(quota)d requests in %(window)d seconds. Wait %(left)d seconds, and ask for larger pages."
)
GUESSING = gettext_noop(
    "From where you are, many tokens were sent that are none. Wait ten minutes, then send the right one."
)
TOKENS = "tokens"  # counted apart from join, calendar and shared links
REALM = 'Bearer realm="Rainthrough"'


class TokenRequest(HttpRequest):
    """What a view of the API receives."""

    caller: Caller
    allowance: Allowance


class Bearer(HttpBearer):
    """Lets in a token that has a scope; none is asked where every token may come."""

    openapi_name: ClassVar[str] = "token"

    def __init__(self, scope: Scope | None = None) -> None:
        super().__init__()
        self.scope = scope

    def __call__(self, request: HttpRequest) -> Caller:
        field = request.headers.get("Authorization", "").strip()
        scheme, _blank, secret = field.partition(" ")
        if not field or scheme.lower() != "bearer" or not secret.strip():
            words = _(OTHER_SCHEME) if field else _(NO_TOKEN)
            raise ProblemError(401, words, headers={"WWW-Authenticate": REALM})
        return self.authenticate(request, secret.strip())

    def authenticate(self, request: HttpRequest, token: str) -> Caller:
        caller = _caller(request, token)
        if self.scope is not None:
            _require(caller, self.scope)
        return caller


def needs(scope: Scope | None) -> dict[str, Any]:
    """What an operation is marked with that a token with the scope may ask; the description says which."""
    return {"auth": Bearer(scope), "openapi_extra": {"x-scope": scope.value if scope else "any"}}


def caller_of(request: HttpRequest) -> Caller:
    """Who calls, once the token was looked at."""
    return cast("TokenRequest", request).caller


def _caller(request: HttpRequest, secret: str) -> Caller:
    at = now()
    token = token_behind(secret)
    if token is None:
        raise _unknown(request)
    try:
        caller = caller_with(token, at)
    except ProblemError as error:
        if error.status == 401:
            error.headers["WWW-Authenticate"] = f'{REALM}, error="invalid_token"'
        raise
    asked: Any = request
    asked.allowance = count_request(token_id=token.pk, at=at)
    if asked.allowance.is_spent:
        words = _(SPENT) % {"quota": QUOTA, "window": WINDOW_S, "left": asked.allowance.left_s}
        raise ProblemError(429, words)
    note_use(token_id=token.pk, at=at)
    asked.caller, asked.user = caller, caller.person  # what is changed is told to be theirs
    return caller


def _unknown(request: HttpRequest) -> ProblemError:
    """Whoever guesses is slowed down; a token that is known is let in all the same, from wherever it comes."""
    if sent_too_many_unknown(request, TOKENS):
        return ProblemError(429, _(GUESSING), headers={"Retry-After": "600"})
    count_unknown(request, TOKENS)
    return ProblemError(401, _(UNKNOWN), headers={"WWW-Authenticate": f'{REALM}, error="invalid_token"'})


def _require(caller: Caller, scope: Scope) -> None:
    """Raise ProblemError, 403, where the token or the role of its person does not reach so far."""
    if scope not in caller.token.scopes:
        field = f'{REALM}, error="insufficient_scope", scope="{scope.value}"'
        words = _(NO_SCOPE) % {"scope": scope.value, "name": caller.token.name}
        raise ProblemError(403, words, headers={"WWW-Authenticate": field})
    needed = scope.verb.least_role
    if caller.role < needed:
        names = {"firm": caller.organisation, "person": caller.person}
        roles = {"needed": needed.label.lower(), "role": caller.role.label.lower()}
        raise ProblemError(403, _(LOW_ROLE) % (names | roles))
