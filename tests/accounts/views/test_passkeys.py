"""What anybody can send in place of a passkey's answer is refused in words, and lets nobody in."""

import json

import pytest
from allauth.mfa.models import Authenticator
from django.core.exceptions import ValidationError
from django.urls import reverse
from hypothesis import HealthCheck, given
from hypothesis import settings as tried
from hypothesis import strategies as st

from accounts.forms.passkeys import MOST_CHARACTERS, PasskeyAnswer
from tests.factories import UserFactory
from tests.sending import confirm

pytestmark = pytest.mark.django_db
SIGN_IN, ADD = reverse("mfa_login_webauthn"), reverse("mfa_add_webauthn")
SCRIPT = {"Accept": "application/json", "X-Requested-With": "XMLHttpRequest"}
RESPONSE = {"clientDataJSON": "e30", "authenticatorData": "AAAA", "signature": "AA", "userHandle": "MQ"}
ANSWER = {"id": "AA", "rawId": "AA", "type": "public-key", "response": RESPONSE, "clientExtensionResults": {}}
BROKEN = [
    "",
    "null",
    "[]",
    "1",
    '"x"',
    "{}",
    "[" * 15_000,
    '{"a":' * 4_000,
    "9" * 5_000,
    "x" * (MOST_CHARACTERS + 1),
    json.dumps({"id": None, "response": None}),
    json.dumps({"response": []}),
    json.dumps({"response": {"userHandle": None}}),
    json.dumps({"response": {"userHandle": 7}}),
    json.dumps(ANSWER),
    json.dumps(ANSWER | {"response": RESPONSE | {"authenticatorData": "A" * 60}}),
    json.dumps(ANSWER | {"response": RESPONSE | {"userHandle": "OTk5OTk5OTk5OTk5OTk5OTk5OTk5OTk5"}}),
    json.dumps(ANSWER | {"response": {"clientDataJSON": "e30", "attestationObject": "o2NmbXRkbm9uZQ"}}),
    json.dumps(ANSWER | {"rawId": "é"}),
]


@pytest.fixture
def begun(client, settings):
    """A stranger whom the server has asked for a passkey."""
    settings.ACCOUNT_RATE_LIMITS = False
    client.get(SIGN_IN, headers=SCRIPT)
    return client


@pytest.mark.parametrize("sent", BROKEN, ids=lambda sent: sent[:40])
def test_a_broken_answer_lets_nobody_in(begun, sent):
    UserFactory()

    answer = begun.post(SIGN_IN, {"credential": sent})

    assert answer.status_code == 302
    assert "_auth_user_id" not in begun.session


@pytest.mark.parametrize("sent", BROKEN, ids=lambda sent: sent[:40])
def test_a_broken_answer_makes_no_passkey(client, sent):
    client.force_login(UserFactory())
    confirm(client)
    client.get(ADD)

    answer = client.post(ADD, {"credential": sent, "passwordless": "True", "name": "Mine"})

    assert answer.status_code == 200
    assert 'role="alert"' in answer.content.decode()
    assert not Authenticator.objects.exists()


HUGE = "W___________"  # a text of bytes that says it is longer than any memory
PLAIN = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.text(max_size=12)
    | st.sampled_from(["AA", "e30", "MQ", HUGE])
)
PARTS = st.dictionaries(st.sampled_from([*RESPONSE, "attestationObject"]), PLAIN, max_size=6)


@tried(suppress_health_check=list(HealthCheck))
@given(st.fixed_dictionaries({}, optional=dict.fromkeys(ANSWER, PLAIN | PARTS)))
def test_whatever_object_is_sent_is_refused_in_words(client, settings, sent):
    settings.MFA_RATE_LIMITS = False
    client.get(SIGN_IN, headers=SCRIPT)

    assert client.post(SIGN_IN, {"credential": json.dumps(sent)}).status_code in (302, 429)
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("sent", [{"rawId": 25278110986}, {"response": {"signature": 10**10}}])
def test_a_number_where_bytes_belong_is_refused_before_as_many_are_made(sent):
    with pytest.raises(ValidationError):
        PasskeyAnswer(required=False).clean(json.dumps(sent))


@given(st.text(max_size=200))
def test_whatever_text_is_sent_is_an_object_or_refused(sent):
    try:
        found = PasskeyAnswer(required=False).clean(sent)
    except ValidationError:
        return
    assert found is None or isinstance(found, dict)


@pytest.mark.parametrize("route", ["mfa_edit_webauthn", "mfa_remove_webauthn"])
def test_somebody_elses_passkey_is_not_found(client, route):
    theirs = Authenticator.objects.create(user=UserFactory(), type="webauthn", data={"name": "Theirs"})
    client.force_login(UserFactory())
    confirm(client)

    assert client.post(reverse(route, args=[theirs.pk]), {"name": "Mine"}).status_code == 404
    assert Authenticator.objects.get().data["name"] == "Theirs"


@pytest.mark.parametrize("route", ["mfa_edit_webauthn", "mfa_remove_webauthn"])
def test_ones_own_is_renamed_or_removed_only_after_the_password(client, route):
    person = UserFactory()
    mine = Authenticator.objects.create(user=person, type="webauthn", data={"name": "Mine"})
    client.force_login(person)

    asked = client.post(reverse(route, args=[mine.pk]), {"name": "Other"})

    assert asked.url.startswith(reverse("account_reauthenticate"))
    assert Authenticator.objects.get().data["name"] == "Mine"


def test_what_is_asked_names_this_host_and_wants_the_device_to_look_who_is_there(client):
    client.force_login(UserFactory())
    asked = client.get(SIGN_IN, headers=SCRIPT, follow=True)
    client.logout()
    asked = client.get(SIGN_IN, headers=SCRIPT).json()["request_options"]["publicKey"]

    assert (asked["rpId"], asked["userVerification"]) == ("testserver", "required")
    assert not asked.get("allowCredentials")  # a stranger learns of no passkey
