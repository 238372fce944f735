"""What the sign-in pages say where something is refused, in our own words: what is wrong, and what to do."""

REFUSALS = {
    "account_inactive": "This account is switched off. Ask whoever manages people in your firm.",
    "cannot_remove_primary_email": "You sign in with this address. Make another one yours first.",
    "duplicate_email": "This is one of your addresses already.",
    "email_password_mismatch": "Address and password do not fit together. Check both, or set a new password.",
    "email_taken": "Somebody signs in with this address already. Sign in, or use another one.",
    "enter_current_password": "This is not your present password. Enter the one you sign in with now.",
    "incorrect_code": "This code does not fit. Enter the one that the app shows now, or a recovery code not used yet.",
    "incorrect_password": "This is not your password. Check it, or set a new one.",
    "invalid_password_reset": "This link no longer works. Have a new one sent.",
    "max_email_addresses": "More than %d addresses are not kept. Remove one first.",
    "select_only_one": "Choose one of them.",
    "same_as_current": "This is what it is already. Enter a new one.",
    "too_many_login_attempts": "Too many tries that failed. Wait a few minutes, then try again.",
    "rate_limited": "Too many tries. Wait a few minutes, then try again.",
    "unknown_email": "Nobody signs in with this address. Check it.",
    "unverified_primary_email": "Confirm your address first.",
}
SECOND_FACTOR_REFUSALS = {
    "add_email_blocked": "With a second factor no address can be added. Switch it off first.",
    "cannot_delete_authenticator": "The second factor cannot be switched off.",
    "cannot_generate_recovery_codes": "Recovery codes belong to a second factor. Set it up first.",
    "incorrect_code": REFUSALS["incorrect_code"],
    "unverified_email": "Confirm your address before you set up a second factor.",
}
