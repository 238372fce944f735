"""What a token may do."""

import pytest

from accounts.calc.roles import Role
from api.calc.scopes import Scope, ScopeSet, Verb, in_words, scopes_of


@pytest.mark.parametrize(
    ("role", "verbs"),
    [
        (Role.OWNER, {Verb.READ}),
        (Role.VIEWER, {Verb.READ}),
        (Role.TECHNICIAN, {Verb.READ, Verb.RECORD}),
        (Role.COORDINATOR, {Verb.READ, Verb.RECORD, Verb.PLAN}),
        (Role.ADMIN, {Verb.READ, Verb.RECORD, Verb.PLAN}),
    ],
)
def test_nobody_gives_more_than_they_may_do(role, verbs):
    assert {scope.verb for scope in scopes_of(role)} == verbs


def test_every_scope_is_a_verb_and_a_kind():
    assert all(scope.value.count(":") == 1 for scope in Scope)
    assert {scope.verb for scope in Scope} == set(Verb)


def test_scopes_are_stored_and_read_back():
    kept = ScopeSet((Scope.READ_SITES, Scope.RECORD_TESTS))

    assert ScopeSet.from_json(kept.to_json()) == kept
    assert kept.to_json() == {"schema": 1, "scopes": ["read:sites", "record:tests"]}


def test_scopes_are_said_by_what_is_done():
    said = in_words([Scope.RECORD_TESTS, Scope.READ_SITES, Scope.READ_TESTS])

    assert said == "Read: sites and their owners, tests. Record: tests."
    assert in_words([]) == ""
