"""What decides who can sign in is changed only after the password, however long the device was signed in."""

from datetime import timedelta

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import TOTP
from allauth.usersessions.models import UserSession
from django.test import Client
from django.urls import reverse

from tests.clock import START
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
ADDRESSES, SESSIONS = reverse("account_email"), reverse("usersessions_list")
AGAIN = reverse("account_reauthenticate")
PASSWORD = "a-long-password-1"
NEW = {"action_add": "", "email": "new@firm.example"}


@pytest.fixture
def person(client):
    user = UserFactory(email="anna@firm.example")
    EmailAddress.objects.create(user=user, email=user.email, primary=True, verified=True)
    client.force_login(user)
    return user


@pytest.fixture
def signed_out(client, person):
    client.logout()
    return person


def addresses():
    return set(EmailAddress.objects.values_list("email", flat=True))


def test_an_address_is_added_only_after_the_password(client, person):
    asked = client.post(ADDRESSES, NEW)
    before = addresses()

    client.post(asked.url, {"password": PASSWORD})

    assert (asked.status_code, asked.url.split("?")[0]) == (302, AGAIN)
    assert (before, addresses()) == ({"anna@firm.example"}, {"anna@firm.example", "new@firm.example"})


def test_a_wrong_password_changes_nothing(client, person):
    asked = client.post(ADDRESSES, NEW)

    answer = client.post(asked.url, {"password": "not-the-password"})

    assert answer.status_code == 200
    assert addresses() == {"anna@firm.example"}


@pytest.mark.parametrize("action", ["action_primary", "action_remove"])
def test_neither_is_another_address_made_the_one_nor_one_removed(client, person, action):
    other = EmailAddress.objects.create(user=person, email="old@firm.example", verified=True)

    answer = client.post(ADDRESSES, {action: "", "email": other.email})

    assert answer.url.startswith(AGAIN)
    assert EmailAddress.objects.get(primary=True).email == person.email
    assert EmailAddress.objects.filter(pk=other.pk).exists()


def test_the_other_devices_are_signed_out_only_after_the_password(client, signed_out):
    person = signed_out
    for device in (client, Client()):
        device.post(reverse("account_login"), {"login": person.email, "password": PASSWORD})
    assert client.get(SESSIONS).status_code == 200
    count = UserSession.objects.count()

    asked = client.post(SESSIONS)
    before = UserSession.objects.count()
    client.post(asked.url, {"password": PASSWORD})

    assert asked.url.startswith(AGAIN)
    assert (count, before, UserSession.objects.count()) == (2, 2, 1)


def test_the_second_factor_is_taken_off_only_after_the_password_or_a_code(client, person):
    TOTP.activate(person, "JBSWY3DPEHPK3PXP")

    answer = client.post(reverse("mfa_deactivate_totp"))

    assert "reauthenticate" in answer.url
    assert Authenticator.objects.filter(user=person).exists()


def test_once_confirmed_nobody_is_asked_again_for_some_minutes_but_later(client, person, time_machine):
    client.post(client.post(ADDRESSES, NEW).url, {"password": PASSWORD})

    soon = client.post(ADDRESSES, {"action_add": "", "email": "third@firm.example"})
    time_machine.move_to(START + timedelta(hours=1))
    later = client.post(ADDRESSES, {"action_add": "", "email": "fourth@firm.example"})

    assert not soon.url.startswith(AGAIN)
    assert later.url.startswith(AGAIN)


@pytest.mark.parametrize("url", [ADDRESSES, AGAIN, SESSIONS])
def test_the_pages_are_ours(client, person, url):
    page = client.get(url).content.decode()

    assert "<nav" in page
    assert "eauthenticate to" not in page


def test_ones_details_lead_to_the_addresses(client, person):
    assert ADDRESSES in client.get(reverse("accounts:me")).content.decode()


def test_a_new_password_signs_out_the_other_devices_as_its_page_says(client, person):
    other = Client()
    other.force_login(person)
    path, new = reverse("account_change_password"), "another-long-password-2"
    said = client.get(path).content.decode()

    client.post(path, {"oldpassword": PASSWORD, "password1": new, "password2": new})

    assert "All other devices are signed out" in said
    assert client.get(ADDRESSES).status_code == 200
    assert other.get(ADDRESSES).status_code == 302
