"""What becomes of tokens."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils.timezone import now

from accounts.calc.roles import Role
from api.calc.scopes import Scope
from api.models import ApiToken
from api.selectors.tokens import Place
from api.services import tokens
from core.errors import AlreadyDoneError
from tests.factories import ApiTokenFactory
from tests.refusals import refused

pytestmark = pytest.mark.django_db


def make(firm, role=Role.TECHNICIAN, **changes):
    values = {"name": "Logger", "scopes": [Scope.READ_TESTS], "days": 30}
    place = Place(firm.organisation, role)
    return tokens.make_token(place=place, person=firm.technician, **values | changes)


def test_secrets_are_long_and_no_two_are_alike(firm):
    made = [make(firm) for _ in range(5)]

    assert len({one.secret for one in made}) == 5
    assert all(len(one.secret) >= len(tokens.START) + 43 for one in made)  # 32 bytes, six bits a letter


def test_it_ends_after_the_days_that_were_asked(firm):
    token = make(firm, days=7).token

    assert abs(token.expires_at - now() - timedelta(days=7)) < timedelta(minutes=1)


@pytest.mark.parametrize("days", [0, -1, 367])
def test_it_never_stays_open_for_good(firm, days):
    with refused(ValidationError, "1 to 366 days", str(days), beside="days"):
        make(firm, days=days)


def test_nothing_to_do_is_refused(firm):
    with refused(ValidationError, "at least one", beside="scopes"):
        make(firm, scopes=[])


@pytest.mark.parametrize(
    ("role", "scope"),
    [
        (Role.VIEWER, Scope.RECORD_TESTS),
        (Role.TECHNICIAN, Scope.PLAN_SITES),
        (Role.OWNER, Scope.RECORD_ROUNDS),
    ],
)
def test_nobody_gives_what_they_have_not(firm, role, scope):
    with refused(ValidationError, "does not reach so far", beside="scopes"):
        make(firm, role, scopes=[Scope.READ_SITES, scope])


def test_scopes_are_kept_in_their_order_and_once(firm):
    token = make(firm, scopes=[Scope.RECORD_TESTS, Scope.READ_SITES, Scope.READ_SITES]).token

    assert token.scopes == (Scope.READ_SITES, Scope.RECORD_TESTS)


def test_tokens_that_ended_do_not_count_towards_the_most(firm, monkeypatch):
    monkeypatch.setattr(tokens, "MOST_OPEN", 1)
    mine = {"organisation": firm.organisation, "person": firm.technician}
    ApiTokenFactory(**mine, revoked_at=now())
    ApiTokenFactory(**mine, expires_at=now())
    make(firm)

    with refused(ValidationError, "1 tokens that count"):
        make(firm)


def test_a_token_ends_once(firm):
    token = make(firm).token
    tokens.end_token(token=token, by=firm.admin)

    with pytest.raises(AlreadyDoneError, match="ended before"):
        tokens.end_token(token=token, by=firm.technician)
    assert ApiToken.objects.get().revoked_by == firm.admin


def test_use_is_noted_once_a_minute(firm):
    token, at = make(firm).token, now()
    tokens.note_use(token_id=token.pk, at=at)
    tokens.note_use(token_id=token.pk, at=at + timedelta(seconds=50))
    token.refresh_from_db()
    assert token.last_used_at == at

    tokens.note_use(token_id=token.pk, at=at + timedelta(seconds=61))
    token.refresh_from_db()
    assert token.last_used_at == at + timedelta(seconds=61)
