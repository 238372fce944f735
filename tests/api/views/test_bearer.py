"""Who is let in with a token, as what, and how often."""

from datetime import timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.urls import reverse
from django.utils.timezone import now

from accounts.calc.roles import Role
from accounts.models import Membership, OwnerPerson
from accounts.services import people
from accounts.views.secret_addresses import MOST_UNKNOWN
from api.calc.rate import QUOTA, WINDOW_S
from api.services.tokens import end_token
from core.services.log_lines import MaskedLine
from tests.api.calling import ROUND, program_of
from tests.factories import MembershipFactory, OwnerPersonFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def program(firm):
    return program_of(firm, "technician")


@pytest.mark.parametrize(
    "field", ["", "Basic dXNlcjpwYXNz", "Bearer", "Bearer ", "rain_abc", "Token rain_abc", "Bearer\u00e9 x"]
)
def test_without_a_token_one_is_told_how_to_send_it(client, program, field):
    answer = client.get("/api/me", headers={"Authorization": field} if field else {})

    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"].startswith("Bearer ")
    assert "Bearer" in answer.json()["detail"]


def test_the_word_before_it_is_read_in_any_case(client, program):
    assert client.get("/api/me", headers={"Authorization": f"bearer {program.secret}"}).status_code == 200


def test_a_token_in_the_address_is_none(client, program):
    assert client.get(f"/api/me?token={program.secret}").status_code == 401


def test_an_unknown_token_is_refused(program):
    program.secret += "x"

    answer = program.get("/api/me")

    assert answer.status_code == 401
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]


def test_the_hash_of_a_token_is_no_token(program):
    program.secret = program.token.token_hash

    assert program.get("/api/me").status_code == 401


def test_a_token_that_was_ended_says_so(program):
    program.token.revoked_at = now()
    program.token.save()

    answer = program.get("/api/me")

    assert (answer.status_code, "was ended" in answer.json()["detail"]) == (401, True)


def test_a_token_that_ran_out_says_when(program):
    program.token.expires_at = now() - timedelta(seconds=1)
    program.token.save()

    answer = program.get("/api/me")

    assert (answer.status_code, "ran out at" in answer.json()["detail"]) == (401, True)


def test_a_token_of_somebody_who_may_not_sign_in_any_more_counts_no_more(program):
    program.token.person.is_active = False
    program.token.person.save()

    assert program.get("/api/me").status_code == 401


def test_with_the_role_the_token_loses_what_it_could_do(firm, program):
    """It acts as its person acts now, not as on the day it was made."""
    body = ROUND | {"surface": str(firm.surface.pk)}
    assert program.make("rounds", body)[1].status_code == 201

    Membership.objects.filter(user=firm.technician).update(role=Role.VIEWER)

    answer = program.make("rounds", body)[1]
    assert answer.status_code == 403
    assert "technician role" in answer.json()["detail"]
    assert program.get("/api/rounds").status_code == 200
    assert "record:rounds" not in program.get("/api/me").json()["scopes"]


def test_a_higher_role_gives_a_token_no_more_than_its_scopes(firm):
    program = program_of(firm, "viewer", scopes=["read:sites"])
    Membership.objects.filter(user=firm.viewer).update(role=Role.ADMIN)

    assert program.make("sites", {})[1].status_code == 403


@pytest.mark.parametrize("who", ["technician", "owner_person"])
def test_who_was_taken_off_reads_nothing_any_more(firm, who):
    program = program_of(firm, who)
    Membership.objects.filter(user=getattr(firm, who)).delete()
    OwnerPerson.objects.filter(user=getattr(firm, who)).delete()

    answer = program.get("/api/sites")

    assert (answer.status_code, "was ended" in answer.json()["detail"]) == (401, True)


@pytest.mark.parametrize("who", ["technician", "owner_person"])
def test_a_token_made_while_its_person_was_taken_off_reads_nothing(firm, who):
    Membership.objects.filter(user=getattr(firm, who)).delete()
    OwnerPerson.objects.filter(user=getattr(firm, who)).delete()

    answer = program_of(firm, who).get("/api/sites")

    assert (answer.status_code, "has no part in" in answer.json()["detail"]) == (401, True)


def test_who_comes_back_finds_the_old_token_ended(firm, program):
    people.remove_member(membership=Membership.objects.get(user=firm.technician))
    MembershipFactory(organisation=firm.organisation, user=firm.technician, role=Role.VIEWER)

    assert program.get("/api/sites").status_code == 401
    assert program_of(firm, "technician").get("/api/sites").status_code == 200


def test_who_reads_for_an_owner_again_finds_the_old_token_ended(firm):
    program = program_of(firm, "owner_person")
    people.remove_owner_person(person=OwnerPerson.objects.get(user=firm.owner_person))
    OwnerPersonFactory(owner=firm.owner, user=firm.owner_person)

    assert program.get("/api/sites").status_code == 401


def test_leaving_ends_the_tokens_of_that_person_for_that_place_alone(firm, program):
    """Of the others of the firm, of another firm and of an owner the tokens go on."""
    other = MembershipFactory(user=firm.technician).organisation
    OwnerPersonFactory(owner=firm.owner, user=firm.technician)
    kept = [
        program_of(firm, "coordinator"),
        program_of(firm, "technician", organisation=other),
        program_of(firm, "technician", owner=firm.owner),
    ]

    people.remove_member(
        membership=Membership.objects.get(user=firm.technician, organisation=firm.organisation)
    )

    assert program.get("/api/me").status_code == 401
    assert [one.get("/api/me").status_code for one in kept] == [200, 200, 200]


def test_a_token_that_was_ended_before_keeps_when_and_by_whom(firm, program):
    ended = end_token(token=program.token, by=firm.admin)
    people.remove_member(membership=Membership.objects.get(user=firm.technician))

    program.token.refresh_from_db()
    assert (program.token.revoked_at, program.token.revoked_by) == (ended.revoked_at, firm.admin)


def test_a_firm_that_asks_for_a_second_factor_asks_the_person_of_a_token_too(firm, program):
    firm.organisation.second_factor = True
    firm.organisation.save()

    answer = program.get("/api/me")

    assert (answer.status_code, "second factor" in answer.json()["detail"]) == (403, True)
    assert program_of(firm, "owner_person").get("/api/me").status_code == 200  # the firm's people are asked


def test_the_last_use_is_kept_to_the_minute(program):
    with time_machine.travel(now(), tick=False) as clock:
        program.get("/api/me")
        program.token.refresh_from_db()
        first = program.token.last_used_at
        clock.shift(30)
        program.get("/api/me")
        program.token.refresh_from_db()
        soon = program.token.last_used_at
        clock.shift(40)
        program.get("/api/me")
        program.token.refresh_from_db()

        assert first == soon < program.token.last_used_at == now()


def test_a_refused_token_is_not_used(program):
    program.token.revoked_at = now()
    program.token.save()
    program.get("/api/me")

    program.token.refresh_from_db()
    assert program.token.last_used_at is None


# ---- how often ------------------------------------------------------------------------------------------


def test_every_answer_says_how_many_requests_are_left(program):
    answers = [program.get("/api/me"), program.get("/api/sites/nothing"), program.get("/api/me")]

    left = [answer.headers.get("RateLimit") for answer in answers]
    assert answers[0].headers["RateLimit-Policy"] == f'"token";q={QUOTA};w={WINDOW_S}'
    assert left[0].startswith(f'"token";r={QUOTA - 1};t=')
    assert left[1] is None  # no token was looked at: there is nothing at that address
    assert left[2].startswith(f'"token";r={QUOTA - 2};t=')


def test_one_too_many_is_told_when_to_come_again_and_the_next_window_is_open(firm, program, monkeypatch):
    monkeypatch.setattr("api.calc.rate.QUOTA", 3)
    with time_machine.travel(now(), tick=False) as clock:
        statuses = [program.get("/api/me").status_code for _ in range(4)]
        spent = program.get("/api/me")
        other = program_of(firm, "technician").get("/api/me")
        clock.shift(int(spent.headers["Retry-After"]))
        again = program.get("/api/me")

    assert statuses == [200, 200, 200, 429]
    assert 0 < int(spent.headers["Retry-After"]) <= WINDOW_S
    assert spent.headers["RateLimit"].startswith('"token";r=0;t=')
    assert spent.headers["Content-Type"] == "application/problem+json"
    assert (other.status_code, again.status_code) == (200, 200)


def test_who_sends_many_tokens_that_are_none_is_refused_and_a_real_one_still_let_in(client, program):
    statuses = [
        client.get("/api/me", headers={"Authorization": f"Bearer rain_guess{n}"}).status_code
        for n in range(31)
    ]

    assert statuses == [401] * 30 + [429]
    assert program.get("/api/me").status_code == 200


def test_tokens_and_links_that_are_none_are_counted_apart(client, firm):
    def token():
        return client.get("/api/me", headers={"Authorization": "Bearer rain_guess"}).status_code

    def link():
        return client.get(reverse("reporting:shared-show", args=["guess-of-a-link"])).status_code

    assert {token() for _ in range(MOST_UNKNOWN)} == {401}
    assert (token(), link()) == (429, 404)

    cache.clear()
    assert {link() for _ in range(MOST_UNKNOWN)} == {404}
    assert (link(), token()) == (429, 401)


# ---- what is kept of it ------------------------------------------------------------------------------------


def test_a_token_stands_in_no_line_of_the_log(client, program, caplog):
    program.secret = f"rain_{program.secret}"
    formatter = MaskedLine("%(message)s")
    client.get(f"/api/nothing/{program.secret}", headers={"Authorization": f"Bearer {program.secret}"})

    lines = [formatter.format(record) for record in caplog.records]

    assert any("rain_(secret)" in line for line in lines)
    assert not any(program.secret in line for line in lines)


def test_what_a_program_records_its_person_recorded(firm, program):
    _, answer = program.make("rounds", ROUND | {"surface": str(firm.surface.pk)})

    row = firm.surface.rounds.get(pk=answer.json()["id"])
    assert row.recorded_by == firm.technician
    assert row.history.get().history_user == firm.technician
