"""Passkeys: what a browser answers in place of a password, read with care, since anybody can send anything."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    EditWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

MOST_CHARACTERS = 20_000  # an answer with a long chain of certificates has some 6,000
LONGEST_NAME = 60
NOT_READ = gettext_noop(
    "This passkey could not be read. Try again; if it goes on, sign in with your password."
)
NOT_YOURS = gettext_noop("This passkey does not fit here. Try again, or use another one.")
# What the packages that take an answer apart raise where it is none.
BROKEN = (
    TypeError,
    ValueError,
    LookupError,
    AttributeError,
    ArithmeticError,
    RecursionError,
    InvalidSignature,
    UnsupportedAlgorithm,
)


BYTES = (
    "id",
    "rawId",
    "clientDataJSON",
    "authenticatorData",
    "signature",
    "userHandle",
    "attestationObject",
)


def _bytes_are_text(found: dict[str, Any]) -> bool:
    """Whether what stands for bytes is text: of a number a reader makes as many bytes, more than there is memory."""
    response = found.get("response")
    parts = (found, response) if isinstance(response, dict) else (found,)
    return all(isinstance(part.get(name), str | None) for part in parts for name in BYTES)


class PasskeyAnswer(forms.JSONField):
    """What a browser answers: an object of bounded size, and nothing that brings a reader down."""

    def to_python(self, value: Any) -> Any:
        """The object; refused in words where it is another thing."""
        if isinstance(value, str) and len(value) > MOST_CHARACTERS:
            raise ValidationError(_(NOT_READ))
        try:
            found = super().to_python(value)
        except (ValidationError, ValueError, RecursionError) as error:
            raise ValidationError(_(NOT_READ)) from error
        if found is not None and not (isinstance(found, dict) and _bytes_are_text(found)):
            raise ValidationError(_(NOT_READ))
        return found

    def bound_data(self, data: Any, initial: Any) -> None:
        """Nothing is shown again: an answer counts once, and reading a broken one could fail."""


@contextmanager
def _refused_in_words() -> Iterator[None]:
    try:
        yield
    except ValidationError as error:
        if getattr(error, "code", "") == "incorrect_code":
            raise ValidationError(_(NOT_YOURS)) from error
        raise
    except BROKEN as error:
        raise ValidationError(_(NOT_READ)) from error


class _Answered(forms.Form):
    credential = PasskeyAnswer(widget=forms.HiddenInput)

    def clean_credential(self) -> Authenticator:
        """The passkey that answered, with its person."""
        with _refused_in_words():
            return super().clean_credential()  # type: ignore[misc]  # of the package's form beside this one


class PasskeySignInForm(_Answered, LoginWebAuthnForm):  # type: ignore[misc]  # of allauth
    """In place of address and password."""


class PasskeyFactorForm(_Answered, AuthenticateWebAuthnForm):  # type: ignore[misc]  # of allauth
    """As the second factor after the password."""


class PasskeyConfirmForm(_Answered, ReauthenticateWebAuthnForm):  # type: ignore[misc]  # of allauth
    """Before something that is not to be done by whoever finds the device."""


class AddPasskeyForm(AddWebAuthnForm):  # type: ignore[misc]  # of allauth
    """A new passkey; its device must have looked who is there, since it is to let in without the password."""

    name = forms.CharField(
        label=_lazy("Name of this passkey"),
        required=False,
        max_length=LONGEST_NAME,
        help_text=_lazy("By which you know it again, such as the device that keeps it."),
    )
    credential = PasskeyAnswer(widget=forms.HiddenInput)
    passwordless = forms.BooleanField(initial=True, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """What the device answered, held against what it was asked."""
        with _refused_in_words():
            return dict(super().clean())


class RenamePasskeyForm(EditWebAuthnForm):  # type: ignore[misc]  # of allauth
    """Another name."""

    name = forms.CharField(label=_lazy("Name of this passkey"), max_length=LONGEST_NAME)
