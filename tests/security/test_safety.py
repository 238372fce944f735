"""What every answer carries and every request is held to, the back office and the second factor."""

import os
import stat
import subprocess
import sys
from contextlib import closing

import pytest
from allauth.mfa.models import Authenticator
from django.conf import settings as configured
from django.db import connection
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.urls import reverse

from core.views.safety import MOST_ANONYMOUS_BYTES
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("route", ["account_login", "accounts:firm", "maintenance:surface-list"])
def test_every_page_may_load_from_this_server_alone_and_stays_out_of_caches(client, firm, route):
    client.force_login(firm.admin)

    answer = client.get(reverse(route), follow=True)

    policy = dict(part.strip().split(" ", 1) for part in answer.headers["Content-Security-Policy"].split(";"))
    assert (policy["script-src"], policy["object-src"], policy["frame-ancestors"]) == (
        "'self'",
        "'none'",
        "'none'",
    )
    assert "no-store" in answer.headers["Cache-Control"]


def test_a_stranger_may_not_send_much(client):
    body = b"x" * (MOST_ANONYMOUS_BYTES + 1)

    answer = client.post(reverse("account_login"), body, content_type="application/octet-stream")

    assert answer.status_code == 413
    assert "Sign in first" in answer.content.decode()


def test_an_old_session_does_not_make_a_stranger_somebody(client):
    client.cookies[configured.SESSION_COOKIE_NAME] = "x" * 32

    answer = client.post("/surfaces/", b"x" * (MOST_ANONYMOUS_BYTES + 1), content_type="text/plain")

    assert answer.status_code == 413


def test_who_is_signed_in_may_send_a_photo(client, firm):
    client.force_login(firm.technician)

    answer = client.post(reverse("accounts:me"), {"full_name": "A", "units": "si", "x": "x" * 100_000})

    assert answer.status_code != 413


def test_the_back_office_has_the_door_of_everybody(client):
    answer = client.get("/back-office/", follow=True)

    assert answer.redirect_chain[-1][0].startswith(reverse("account_login"))


def test_a_firm_may_demand_a_second_factor(client, firm):
    firm.organisation.second_factor = True
    firm.organisation.save()
    client.force_login(firm.admin)

    shut = client.get(reverse("accounts:firm"))
    Authenticator.objects.create(user=firm.admin, type="totp", data={"secret": "x"})
    opened = client.get(reverse("accounts:firm"))

    assert (shut.status_code, shut.url) == (302, reverse("mfa_index"))
    assert opened.status_code == 200


def test_a_second_factor_can_be_set_up_without_outgoing_mail(client):
    client.force_login(UserFactory())

    answer = client.get(reverse("mfa_activate_totp"), follow=True)

    assert answer.status_code == 200
    assert "verify" not in answer.content.decode().lower()


def test_devices_that_are_signed_in_can_be_seen_and_ended(client, firm):
    client.force_login(firm.admin)
    client.get(reverse("accounts:me"))

    assert client.get(reverse("usersessions_list")).status_code == 200


def test_the_embedded_database_is_for_its_user_alone(tmp_path):
    path = tmp_path / "rainthrough.sqlite3"
    path.touch(mode=0o644)
    given = connection.settings_dict | {"NAME": str(path), "ENGINE": "django.db.backends.sqlite3"}
    given["OPTIONS"] = {}

    with closing(DatabaseWrapper(given)) as opened:
        opened.ensure_connection()

    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_failed_sign_in_is_logged_without_what_was_typed(client, caplog):
    client.post(reverse("account_login"), {"login": "anna@firm.example", "password": "not-the-password"})

    (line,) = [record.getMessage() for record in caplog.records if "Failed sign-in" in record.getMessage()]
    assert "127.0.0.1" in line
    assert "anna" not in line
    assert "not-the-password" not in line


def test_a_sign_in_is_logged_with_the_number_of_the_person_and_no_address_of_theirs(client, caplog):
    caplog.set_level("INFO")
    person = UserFactory(email="anna@firm.example", password="a-long-password-1")
    client.post(reverse("account_login"), {"login": person.email, "password": "a-long-password-1"})

    (line,) = [one.getMessage() for one in caplog.records if "Signed in" in one.getMessage()]
    assert line == f"Signed in from 127.0.0.1: person {person.pk}"


@pytest.mark.parametrize(("https", "begins"), [("1", "__Host-"), ("0", "")])
def test_cookies_are_of_this_very_host_where_it_is_served_by_https(https, begins):
    """Browsers take such a name by https alone, so that a server without it has plain ones."""
    said = "from config import settings as s; print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE)"
    key = "everybody may read this one, since only this test signs with it"
    given = os.environ | {"RAINTHROUGH_HTTPS": https, "RAINTHROUGH_SECRET_KEY": key}
    made = subprocess.run([sys.executable, "-c", said], env=given, check=True, capture_output=True, text=True)

    assert made.stdout.split() == [f"{begins}sessionid", f"{begins}csrftoken", str(bool(begins))]
