"""The pages that ask who is there before a dangerous change, in a real browser."""

import pytest
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret

from tests.browser.conftest import DESK, PASSWORD, PHONE, press

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_password_is_asked_for_before_addresses_are_changed(firm, open_page, accessible, size):
    page = open_page(firm.technician, "/sign-in/email/", size=size)
    accessible(page)
    page.get_by_label("Email").fill("another@firm.example")
    press(page, "Add the address")
    page.get_by_role("heading", name="Confirm that it is you").wait_for()
    accessible(page)
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Confirm")
    page.get_by_text("another@firm.example").first.wait_for()
    accessible(page)


def test_the_code_is_asked_for_where_there_is_a_second_factor(firm, open_page, accessible):
    TOTP.activate(firm.technician, generate_totp_secret())
    RecoveryCodes.activate(firm.technician)
    page = open_page(firm.technician, "/sign-in/2fa/reauthenticate/")

    page.get_by_role("heading", name="Confirm that it is you").wait_for()
    accessible(page)
