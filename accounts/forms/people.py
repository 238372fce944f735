"""Text to typed values for people and firms."""

from typing import Any

from django import forms

from accounts.calc.roles import FIRM_ROLES
from accounts.models import Invitation, Membership, Organisation, Owner, User
from core.forms.fresh import FreshForm
from core.forms.once import OnceForm


class OrganisationStartForm(FreshForm[Organisation]):
    """A new firm."""

    class Meta:
        model = Organisation
        fields: tuple[str, ...] = ("name", "currency")

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()


class OrganisationForm(OrganisationStartForm):
    """The firm's settings."""

    class Meta(OrganisationStartForm.Meta):
        fields: tuple[str, ...] = (
            "name",
            "currency",
            "below_price_m2_yr",
            "fresh_test_above",
            "approval_above",
            "second_factor",
        )


class OwnerForm(OnceForm[Owner]):
    class Meta:
        model = Owner
        fields = ("name", "address", "email", "phone", "below_price_m2_yr", "note")
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}


class MemberInvitationForm(forms.ModelForm[Invitation]):
    """Invite somebody into the firm."""

    class Meta:
        model = Invitation
        fields = ("email", "role")


class OwnerInvitationForm(forms.ModelForm[Invitation]):
    """Invite somebody to read an owner's sites."""

    class Meta:
        model = Invitation
        fields = ("email",)


class RoleForm(forms.Form):
    role = forms.TypedChoiceField(choices=FIRM_ROLES, coerce=int)


def role_form(membership: Membership) -> RoleForm:
    """The role that somebody has, to be changed; one of several such forms on a page."""
    return RoleForm(initial={"role": membership.role}, auto_id=f"%s-{membership.pk}")


class ProfileForm(FreshForm[User]):
    """What a person says of themselves. Mails about visits go to those who read for an owner alone."""

    class Meta:
        model = User
        fields = ("full_name", "units", "day_mails")

    def __init__(self, *args: Any, reads_for_owner: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not reads_for_owner:
            del self.fields["day_mails"]
