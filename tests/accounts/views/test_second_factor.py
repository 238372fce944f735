"""A second factor that one firm asks for and another does not, and the log of sign-ins that failed."""

import logging

import pytest
from allauth.mfa.models import Authenticator
from django.urls import reverse

from accounts.calc.roles import Role
from accounts.views.current_organisation import OWN_SITES
from accounts.views.failed_sign_ins import log_failure
from tests.factories import MembershipFactory, OwnerPersonFactory, UserFactory

pytestmark = pytest.mark.django_db
SHUT = reverse("mfa_index")
PLACES = (
    "accounts:firm",
    "maintenance:surface-list",
    "reporting:start",
    "accounts:me",
    "planning:visit-list",
)


@pytest.fixture
def strict(firm):
    """The firm asks for a second factor."""
    firm.organisation.second_factor = True
    firm.organisation.save()
    return firm


@pytest.fixture
def of_two(client, strict):
    """Somebody who is admin of the firm that asks and viewer of one that does not."""
    strict.lax = MembershipFactory(user=strict.admin, role=Role.VIEWER).organisation
    client.force_login(strict.admin)
    return client


def switch(client, organisation):
    chosen = getattr(organisation, "pk", organisation)
    return client.post(reverse("accounts:firm-switch"), {"organisation": str(chosen)})


def is_shut(client, place):
    answer = client.get(reverse(place))
    return (answer.status_code, answer.headers.get("Location")) == (302, SHUT)


@pytest.mark.parametrize("place", PLACES)
def test_every_page_of_a_firm_that_asks_stays_shut_without_a_factor(client, strict, place):
    client.force_login(strict.technician)

    assert is_shut(client, place)


def test_a_page_of_one_row_and_its_files_stay_shut_too(client, strict):
    client.force_login(strict.technician)
    surface = strict.surface

    for url in (
        surface.get_absolute_url(),
        reverse("reporting:handover-download", args=[surface.pk]),
        reverse("maintenance:surface-list") + "?export=csv",
    ):
        assert client.get(url).url == SHUT


def test_what_is_sent_to_a_shut_page_is_not_stored(client, strict):
    client.force_login(strict.admin)

    answer = client.post(reverse("accounts:me"), {"full_name": "Mine", "units": "us"})

    strict.admin.refresh_from_db()
    assert answer.url == SHUT
    assert strict.admin.units == "si"


def test_the_page_says_which_firm_asks(client, strict):
    client.force_login(strict.technician)

    page = client.get(reverse("accounts:firm"), follow=True).content.decode()

    assert f"{strict.organisation} asks its people for a second factor" in page


def test_the_factor_can_be_set_up_and_one_can_sign_out(client, strict):
    client.force_login(strict.technician)

    assert client.get(SHUT).status_code == 200
    assert client.get(reverse("mfa_activate_totp")).status_code in (200, 302)
    assert client.get(reverse("mfa_activate_totp")).headers.get("Location", "") != SHUT
    assert client.post(reverse("account_logout")).url == reverse("account_login")


def test_a_factor_opens_the_pages(client, strict):
    Authenticator.objects.create(user=strict.technician, type="totp", data={"secret": "x"})
    client.force_login(strict.technician)

    assert [client.get(reverse(place)).status_code for place in PLACES] == [200] * len(PLACES)


def test_the_other_firm_can_be_chosen_from_behind_the_shut_door(of_two, firm):
    before = is_shut(of_two, "accounts:firm")

    answer = switch(of_two, firm.lax)

    assert before
    assert answer.status_code == 302
    assert of_two.get(reverse("accounts:firm")).context["current"].organisation == firm.lax


def test_coming_back_to_the_firm_that_asks_shuts_the_door_again(of_two, firm):
    switch(of_two, firm.lax)
    open_there = not is_shut(of_two, "accounts:firm")

    switch(of_two, firm.organisation)

    assert open_there
    assert is_shut(of_two, "accounts:firm")


def test_reading_ones_own_sites_as_an_owner_needs_no_factor_of_the_firm(of_two, firm):
    OwnerPersonFactory(user=firm.admin)

    switch(of_two, OWN_SITES)

    assert not is_shut(of_two, "reporting:start")


def test_an_owners_person_and_a_stranger_are_asked_for_nothing(client, strict):
    assert not is_shut(client, "account_login")
    client.force_login(strict.owner_person)

    assert not is_shut(client, "reporting:start")


def test_an_invitation_can_be_opened_before_the_factor_is_set_up(client, strict):
    client.force_login(strict.technician)

    assert client.get("/join/no-such-link/").status_code == 404


def test_a_firm_that_no_longer_asks_lets_in(client, strict):
    client.force_login(strict.technician)
    before = is_shut(client, "accounts:firm")
    type(strict.organisation).objects.update(second_factor=False)

    assert (before, is_shut(client, "accounts:firm")) == (True, False)


# ---- Sign-ins that failed ------------------------------------------------------------------------


def lines(caplog):
    return [record.getMessage() for record in caplog.records if "Failed sign-in" in record.getMessage()]


def test_each_failure_is_a_line_and_a_success_is_none(client, caplog):
    user = UserFactory()
    wrong = {"login": user.email, "password": "not-the-password"}

    with caplog.at_level(logging.INFO):
        client.post(reverse("account_login"), wrong)
        client.post(reverse("account_login"), wrong)
        client.post(reverse("account_login"), wrong | {"password": "a-long-password-1"})

    assert len(lines(caplog)) == 2


def test_one_address_has_one_mark_and_another_has_another(client, caplog):
    for email in ("anna@firm.example", "ANNA@firm.example", "bert@firm.example"):
        client.post(reverse("account_login"), {"login": email, "password": "not-the-password"})

    marks = [line.rsplit(" ", 1)[1] for line in lines(caplog)]
    assert marks[0] == marks[1] != marks[2]
    assert all(len(mark) == 12 for mark in marks)


@pytest.mark.parametrize("credentials", [{}, {"email": None}, {"username": "anna"}, {"email": "a\nb"}])
def test_whatever_was_sent_makes_one_line_and_shows_none_of_it(caplog, credentials):
    log_failure(None, credentials)

    (line,) = lines(caplog)
    assert line.startswith("Failed sign-in from unknown as ")
    assert "\n" not in line
    assert "anna" not in line


def test_behind_a_proxy_the_line_names_who_came_and_not_the_proxy(client, caplog, settings):
    settings.PROXIES = 1

    client.post(
        reverse("account_login"),
        {"login": "anna@firm.example", "password": "not-the-password"},
        headers={"X-Forwarded-For": "198.51.100.7, 203.0.113.5"},
    )

    assert "from 203.0.113.5 as" in lines(caplog)[0]
