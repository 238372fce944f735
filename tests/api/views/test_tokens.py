"""Tokens on pages: made once their person gave the password anew, shown once, ended by their person or an admin."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import OwnerPerson
from api.calc.scopes import Scope
from api.models import ApiToken
from core.calc.secrets import hash_of
from tests.api.calling import Program, program_of
from tests.factories import ApiTokenFactory, MembershipFactory, OwnerPersonFactory, UserFactory

pytestmark = pytest.mark.django_db
LIST, NEW = reverse("api:token-list"), reverse("api:token-create")
ASKED = {"name": "Data logger", "days": "90", "read": ["read:sites", "read:tests"]}
PASSWORD = "a-long-password-1"


def signed_in(person):
    """A browser whose person gave the password a moment ago."""
    client = Client()
    client.force_login(person)
    client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
    return client


def secret_in(page):
    return re.search(r'value="(rain_[\w-]+)"', page.content.decode())[1]


@pytest.fixture
def technician(firm):
    return signed_in(firm.technician)


def test_a_token_is_shown_once_and_only_its_hash_is_kept(firm, technician):
    page = technician.post(NEW, ASKED)

    token, secret = ApiToken.objects.get(), secret_in(page)
    assert (token.person, token.organisation, token.owner) == (firm.technician, firm.organisation, None)
    assert token.token_hash == hash_of(secret)
    assert secret.startswith(token.prefix)
    assert token.scopes == (Scope.READ_SITES, Scope.READ_TESTS)
    assert secret not in technician.get(LIST).content.decode()
    assert page.headers["Cache-Control"] == "no-store, private"
    assert Program(token, secret).get("/api/sites").status_code == 200


@pytest.fixture
def sent(technician):
    """What the form sends as a browser shows it, with the id made with it."""
    found = re.search(r'name="device_id" value="([\w-]+)"', technician.get(NEW).content.decode())
    return ASKED | {"device_id": found[1]}


def test_sent_twice_it_is_one_token_which_the_secret_shown_last_opens(technician, sent):
    first, second = (technician.post(NEW, sent) for _ in range(2))

    token = ApiToken.objects.get()
    assert "one token" not in first.content.decode()
    assert "one token" in second.content.decode()
    assert Program(token, secret_in(first)).get("/api/me").status_code == 401
    assert Program(token, secret_in(second)).get("/api/me").status_code == 200
    assert secret_in(second).startswith(token.prefix)


def test_sent_again_once_it_is_used_it_keeps_its_secret_and_that_is_said(technician, sent):
    program = Program(None, secret_in(technician.post(NEW, sent)))
    program.get("/api/me")

    assert "was sent before" in technician.post(NEW, sent).content.decode()
    assert ApiToken.objects.count() == 1
    assert program.get("/api/me").status_code == 200


def test_sent_again_once_it_is_ended_it_stays_so(technician, sent):
    technician.post(NEW, sent)
    technician.post(reverse("api:token-end", args=[ApiToken.objects.get().pk]))

    assert "was sent before" in technician.post(NEW, sent).content.decode()
    assert ApiToken.objects.get().revoked_at is not None


def test_who_goes_back_and_sends_other_values_makes_another(technician, sent):
    for name in ("Data logger", "Accounts"):
        technician.post(NEW, sent | {"name": name})

    assert sorted(token.name for token in ApiToken.objects.all()) == ["Accounts", "Data logger"]


def test_the_same_sending_of_somebody_else_or_for_another_place_is_another(firm, technician, sent):
    OwnerPersonFactory(owner=firm.owner, user=firm.technician)
    technician.post(NEW, sent)
    technician.post(f"{NEW}?for={firm.owner.pk}", sent)
    signed_in(firm.viewer).post(NEW, sent)

    assert ApiToken.objects.count() == 3


def test_whoever_is_only_signed_in_gives_the_password_first(firm, client):
    client.force_login(firm.technician)

    for answer in (client.get(NEW), client.post(NEW, ASKED)):
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("account_reauthenticate"))
    assert not ApiToken.objects.exists()


def test_nothing_is_offered_beyond_ones_role(firm):
    technician, viewer = (signed_in(one).get(NEW) for one in (firm.technician, firm.viewer))

    assert "record:tests" in technician.content.decode()
    assert "plan:sites" not in technician.content.decode()
    assert "record:tests" not in viewer.content.decode()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"read": []}, "Tick at least one thing"),
        ({"name": ""}, "required"),
        ({"name": "  "}, "required"),
        ({"name": "n" * 81}, "80"),
        ({"days": "4000"}, "4000"),
        ({"record": ["plan:sites"]}, "plan:sites"),
        ({"read": ["record:tests"]}, "record:tests"),
    ],
)
def test_what_cannot_be_is_refused_with_what_was_typed(technician, changes, said):
    page = technician.post(NEW, ASKED | changes)

    assert page.status_code == 200
    assert said in page.content.decode()
    assert not ApiToken.objects.exists()


def test_a_scope_beyond_the_role_that_is_sent_all_the_same_is_not_given(technician):
    technician.post(NEW, ASKED | {"plan": ["plan:sites"]})

    assert Scope.PLAN_SITES not in ApiToken.objects.get().scopes


def test_an_owners_person_makes_one_that_reads_for_the_owner(firm):
    page = signed_in(firm.owner_person).post(NEW, ASKED)

    token = ApiToken.objects.get()
    assert (token.owner, token.organisation) == (firm.owner, firm.organisation)
    assert Program(token, secret_in(page)).get("/api/me").json()["owner"] == str(firm.owner.pk)


def test_one_chooses_among_ones_firms_and_owners_and_no_others(firm):
    OwnerPersonFactory(owner=firm.owner, user=firm.technician)
    other = MembershipFactory(user=firm.technician).organisation
    technician = signed_in(firm.technician)

    for key in (firm.owner.pk, other.pk):
        assert technician.post(f"{NEW}?for={key}", ASKED | {"name": str(key)}).status_code == 200
    strangers = technician.get(f"{NEW}?for={firm.outsider.memberships.get().organisation_id}")

    made = {token.name: token.owner_id or token.organisation_id for token in ApiToken.objects.all()}
    assert made == {str(firm.owner.pk): firm.owner.pk, str(other.pk): other.pk}
    assert strangers.status_code == 404
    assert technician.get(f"{NEW}?for=nonsense").status_code == 404


def test_who_belongs_nowhere_is_told_so():
    assert signed_in(UserFactory()).get(NEW).status_code == 403


def test_there_is_an_end_to_how_many_there_are(firm, technician, monkeypatch):
    monkeypatch.setattr("api.services.tokens.MOST_OPEN", 2)
    for _ in range(2):
        technician.post(NEW, ASKED)

    page = technician.post(NEW, ASKED)

    assert "2 tokens that count" in page.content.decode()
    assert ApiToken.objects.count() == 2
    technician.post(reverse("api:token-end", args=[ApiToken.objects.first().pk]))
    assert secret_in(technician.post(NEW, ASKED))


def test_the_list_says_what_each_may_do_until_when_and_when_it_was_used(firm, technician):
    program = program_of(firm, "technician", scopes=["read:tests"], prefix="rain_xyz123")
    before = technician.get(LIST).content.decode()
    program.get("/api/tests")

    after = technician.get(LIST).content.decode()

    assert "Read: tests." in after
    assert "rain_xyz123" in after
    assert "never used" in before
    assert "last used" in after


def test_who_made_it_ends_it_and_it_lets_nobody_in_any_more(firm, technician):
    program = program_of(firm, "technician")

    page = technician.post(reverse("api:token-end", args=[program.token.pk]), follow=True)

    assert "has ended" in page.content.decode()
    assert program.get("/api/me").status_code == 401
    program.token.refresh_from_db()
    assert program.token.revoked_by == firm.technician


def test_ended_twice_is_told(firm, technician):
    program = program_of(firm, "technician")
    path = reverse("api:token-end", args=[program.token.pk])
    technician.post(path)

    assert "was ended before" in technician.post(path, follow=True).content.decode()


def test_an_admin_sees_and_ends_all_of_the_firm_its_owners_among_them(firm):
    admin = signed_in(firm.admin)
    programs = [program_of(firm, who) for who in ("technician", "owner_person")]
    page = admin.get(LIST).content.decode()

    for program in programs:
        assert program.token.name in page
        admin.post(reverse("api:token-end", args=[program.token.pk]))
        assert program.get("/api/me").status_code == 401


def test_nobody_else_sees_them(firm):
    token = program_of(firm, "technician").token
    for who in ("coordinator", "owner_person", "outsider"):
        assert token.name not in signed_in(getattr(firm, who)).get(LIST).content.decode()


def test_a_token_of_somebody_who_left_is_listed_for_the_admin_as_ended(firm):
    program = program_of(firm, "owner_person")
    OwnerPerson.objects.all().delete()

    page = signed_in(firm.admin).get(LIST).content.decode()

    assert program.token.name in page
    assert ">Ended<" in page
    assert reverse("api:token-end", args=[program.token.pk]) not in page


def test_the_pages_lead_to_one_another(firm, technician):
    assert LIST in technician.get(reverse("accounts:me")).content.decode()
    assert LIST in technician.get(reverse("accounts:firm")).content.decode()
    assert reverse("api:docs") in technician.get(LIST).content.decode()


def test_lists_of_tokens_take_as_many_queries_however_long_they_are(firm, django_assert_max_num_queries):
    for _ in range(12):
        ApiTokenFactory(organisation=firm.organisation, person=UserFactory())
    admin = signed_in(firm.admin)

    with django_assert_max_num_queries(12):
        admin.get(LIST)
