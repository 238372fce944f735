"""A passkey from its making to its end, with the virtual authenticator that Chromium has for tests."""

import pytest
from allauth.mfa.models import Authenticator
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PASSWORD, PHONE, press, settle
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db(transaction=True)
DEVICE = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


def give_device(page, **changes):
    """A device that keeps passkeys; the channel to it and its id."""
    channel = page.context.new_cdp_session(page)
    channel.send("WebAuthn.enable")
    made = channel.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE | changes})
    return channel, made["authenticatorId"]


def who_is_looked_at(channel, device, looks):
    channel.send("WebAuthn.setUserVerified", {"authenticatorId": device, "isUserVerified": looks})


def add_passkey(page, name=""):
    """From the page of the second factor, past the question who is there."""
    page.goto("/sign-in/2fa/webauthn/add/")
    if "reauthenticate" in page.url:
        page.get_by_label("Password").fill(PASSWORD)
        press(page, "Confirm")
    settle(page)
    if name:
        page.get_by_label("Name of this passkey").fill(name)
    with page.expect_navigation():
        page.get_by_role("button", name="Make the passkey").click()


def forget_who_is_there(page):
    """To the door, as a browser without cookies; an answer under way would bring one of those that are gone."""
    page.wait_for_load_state("networkidle")
    page.context.clear_cookies()
    page.goto("/sign-in/login/")
    settle(page)


def sign_out_and_come_by_passkey(page):
    forget_who_is_there(page)
    with page.expect_navigation(url=lambda url: "/login" not in url):
        page.get_by_role("button", name="Use a passkey instead").click()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_passkey_is_made_and_lets_in_without_the_password(firm, open_page, accessible, size):
    page = open_page(firm.technician, "/sign-in/2fa/", size=size)
    give_device(page)
    accessible(page)

    add_passkey(page, "My phone")
    page.get_by_role("heading", name="Recovery codes").wait_for()
    sign_out_and_come_by_passkey(page)

    page.goto("/sign-in/2fa/webauthn/")
    expect(page.get_by_text("My phone")).to_be_visible()
    expect(page.get_by_text("last used")).to_be_visible()
    accessible(page)


def test_it_is_the_second_factor_after_the_password(firm, open_page, accessible):
    page = open_page(firm.technician)
    give_device(page)
    add_passkey(page)
    forget_who_is_there(page)
    page.get_by_label("Email").first.fill(firm.technician.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    press(page, "Sign in")

    page.get_by_role("heading", name="Second factor").wait_for()
    accessible(page)
    press(page, "Use a passkey")

    page.goto("/me/")
    expect(page.get_by_role("heading", name="Your details")).to_be_visible()


def test_it_confirms_who_is_there(firm, open_page, accessible):
    page = open_page(firm.admin)
    give_device(page)
    add_passkey(page)
    sign_out_and_come_by_passkey(page)

    page.goto("/sign-in/2fa/webauthn/reauthenticate/?next=/tokens/new/")
    accessible(page)
    press(page, "Confirm with a passkey")

    page.wait_for_url("**/tokens/new/")


def test_a_device_that_did_not_look_who_is_there_is_not_let_in(firm, open_page):
    page = open_page(firm.technician)
    channel, device = give_device(page)
    add_passkey(page)
    who_is_looked_at(channel, device, False)
    forget_who_is_there(page)

    page.get_by_role("button", name="Use a passkey instead").click()

    expect(page.get_by_role("alert").filter(has_text="Nothing was done")).to_be_visible()
    page.goto("/me/")
    assert "/login" in page.url


def test_one_that_was_removed_here_lets_nobody_in(firm, open_page):
    page = open_page(firm.technician)
    give_device(page)
    add_passkey(page)
    Authenticator.objects.all().delete()
    forget_who_is_there(page)

    press(page, "Use a passkey instead")

    expect(page.get_by_text("This passkey does not fit here")).to_be_visible()


def test_one_of_somebody_else_does_not_confirm_who_is_there(firm, open_page):
    other = UserFactory()
    page = open_page(other)
    give_device(page)
    add_passkey(page)
    key = Authenticator.objects.get(user=other, type="webauthn")
    key.pk, key.user, key.data = None, firm.admin, key.data | {"credential": key.data["credential"]}
    key.save()  # stored under another person, whom the device does not name
    forget_who_is_there(page)

    press(page, "Use a passkey instead")
    page.goto("/me/")

    expect(page.get_by_text(other.email).first).to_be_attached()


def test_a_browser_without_passkeys_is_not_offered_any(open_page):
    page = open_page()
    page.add_init_script("delete globalThis.PublicKeyCredential")
    page.goto("/sign-in/login/")
    settle(page)

    expect(page.get_by_role("button", name="Use a passkey instead")).to_be_hidden()
