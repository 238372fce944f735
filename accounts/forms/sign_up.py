"""What is asked of who opens an account, beside address and password."""

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import User
from accounts.services import people


class SignUpForm(forms.Form):
    """The name by which colleagues and owners know a person. allauth adds address and password."""

    full_name = forms.CharField(
        label=_lazy("Your name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )

    def signup(self, request: HttpRequest, user: User) -> None:
        """Called by allauth once the account is stored."""
        people.change_profile(user=user, full_name=self.cleaned_data["full_name"], units=user.units)
