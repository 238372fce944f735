"""What the sign-in pages say where something is refused, in our own words: what is wrong, and what to do."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy, gettext_noop

REFUSALS = {
    "account_inactive": gettext_noop(
        "This account is switched off. Ask whoever manages people in your firm."
    ),
    "cannot_remove_primary_email": gettext_noop(
        "You sign in with this address. Make another one yours first."
    ),
    "duplicate_email": gettext_noop("This is one of your addresses already."),
    "email_password_mismatch": gettext_noop(
        "Address and password do not fit together. Check both, or set a new password."
    ),
    "email_taken": gettext_noop("Somebody signs in with this address already. Sign in, or use another one."),
    "enter_current_password": gettext_noop(
        "This is not your present password. Enter the one you sign in with now."
    ),
    "incorrect_code": gettext_noop(
        "This code does not fit. Enter the one that the app shows now, or a recovery code not used yet."
    ),
    "incorrect_password": gettext_noop("This is not your password. Check it, or set a new one."),
    "invalid_password_reset": gettext_noop("This link no longer works. Have a new one sent."),
    "max_email_addresses": gettext_noop("More than %d addresses are not kept. Remove one first."),
    "select_only_one": gettext_noop("Choose one of them."),
    "same_as_current": gettext_noop("This is what it is already. Enter a new one."),
    "too_many_login_attempts": gettext_noop(
        "Too many tries that failed. Wait a few minutes, then try again."
    ),
    "rate_limited": gettext_noop("Too many tries. Wait a few minutes, then try again."),
    "unknown_email": gettext_noop("Nobody signs in with this address. Check it."),
    "unverified_primary_email": gettext_noop("Confirm your address first."),
}
SECOND_FACTOR_REFUSALS = {
    "add_email_blocked": gettext_noop("With a second factor no address can be added. Switch it off first."),
    "cannot_delete_authenticator": gettext_noop("The second factor cannot be switched off."),
    "cannot_generate_recovery_codes": gettext_noop(
        "Recovery codes belong to a second factor. Set it up first."
    ),
    "incorrect_code": REFUSALS["incorrect_code"],
    "unverified_email": gettext_noop("Confirm your address before you set up a second factor."),
}


def in_readers_language(words: Mapping[str, str]) -> dict[str, Any]:
    """The same, each looked up when it is shown."""
    return {key: gettext_lazy(text) for key, text in words.items()}
