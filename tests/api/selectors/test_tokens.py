"""Who calls with a token, and for what one can be made."""

from datetime import timedelta

import pytest
from django.utils.timezone import now

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from api.calc.problems import ProblemError
from api.selectors.tokens import caller_with, own_tokens, places_of, token_behind
from tests.api.calling import program_of
from tests.factories import ApiTokenFactory, MembershipFactory, OwnerPersonFactory

pytestmark = pytest.mark.django_db


def test_a_person_has_a_place_in_each_firm_and_for_each_owner(firm):
    other = MembershipFactory(user=firm.viewer, role=Role.ADMIN).organisation
    OwnerPersonFactory(owner=firm.owner, user=firm.viewer)

    found = {place.key: (place.role, place.owner) for place in places_of(firm.viewer)}

    assert found == {
        str(firm.organisation.pk): (Role.VIEWER, None),
        str(other.pk): (Role.ADMIN, None),
        str(firm.owner.pk): (Role.OWNER, firm.owner),
    }


def test_a_place_of_an_owner_names_the_firm_that_works_for_it(firm):
    (place,) = places_of(firm.owner_person)

    assert str(firm.owner) in place.name
    assert str(firm.organisation) in place.name


@pytest.mark.parametrize(
    ("who", "audience", "role"),
    [("technician", Audience.FIRM, Role.TECHNICIAN), ("owner_person", Audience.OWNER, Role.OWNER)],
)
def test_a_caller_reads_as_what_the_token_is_for(firm, who, audience, role):
    caller = caller_with(program_of(firm, who).token, now())

    assert (caller.audience, caller.role, caller.person) == (audience, role, getattr(firm, who))


def test_a_token_ends_in_its_last_moment(firm):
    token, at = program_of(firm).token, now()
    token.expires_at = at

    caller_with(token, at - timedelta(microseconds=1))
    with pytest.raises(ProblemError) as refused:
        caller_with(token, at)

    assert refused.value.status == 401


def test_a_secret_is_found_by_its_hash_in_one_query(firm, django_assert_num_queries):
    program = program_of(firm, "owner_person")

    with django_assert_num_queries(1):
        token = token_behind(program.secret)
        assert (token, token.person, token.organisation, token.owner) == (
            program.token,
            firm.owner_person,
            firm.organisation,
            firm.owner,
        )
    assert token_behind("") is None
    assert token_behind("é\udcff".encode("utf-8", "ignore").decode()) is None


def test_tokens_that_count_stand_before_those_that_were_ended(firm):
    mine = {"person": firm.technician, "organisation": firm.organisation}
    ended = ApiTokenFactory(revoked_at=now(), **mine)
    soon, later = (ApiTokenFactory(expires_at=now() + timedelta(days=days), **mine) for days in (3, 30))

    assert list(own_tokens(firm.technician)) == [later, soon, ended]
