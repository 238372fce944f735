"""Text to typed values for people and firms."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from accounts.calc.roles import firm_roles
from accounts.models import Invitation, Membership, Organisation, Owner, User
from core.calc.countries import country_choices, country_of
from core.calc.currency import CURRENCIES
from core.calc.units import Quantity, UnitSystem
from core.forms.fresh import FreshForm, SeenForm
from core.forms.once import OnceForm
from core.forms.parts import Group, bound_fields
from core.forms.prices import WORTH, PricedForm
from core.forms.zones import ZoneField

AS_USUAL = gettext_noop("As usual in the country")
CURRENCY_UNKNOWN = gettext_noop("The currency of %(country)s is not known here. Choose it from the list.")
_MONEY = [(code, code) for code in sorted(CURRENCIES)]


class OrganisationStartForm(FreshForm[Organisation]):
    """A new firm: its name and country. What follows from the country is filled in where nothing else is chosen."""

    country = forms.ChoiceField(
        label=_lazy("Country"),
        choices=lambda: [("", _("Choose the country")), *country_choices()],
        help_text=_lazy("Currency, units, time zone, limits and months of frost start from it."),
    )
    currency = forms.ChoiceField(
        label=_lazy("Currency"),
        choices=lambda: [("", _(AS_USUAL)), *_MONEY],
        required=False,
        help_text=_lazy("Costs and prices are kept in it."),
    )
    units = forms.ChoiceField(
        label=_lazy("Units"),
        choices=lambda: [("", _(AS_USUAL)), *UnitSystem.choices()],
        required=False,
        help_text=_lazy("In which you read. Everybody chooses their own."),
    )
    time_zone = ZoneField(
        label=_lazy("Time zone"), required=False, help_text=_lazy("Of the office. A new site starts with it.")
    )

    class Meta:
        model = Organisation
        fields: tuple[str, ...] = ("name", "country", "currency", "time_zone")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["time_zone"].begin_with("", empty=_(AS_USUAL))  # type: ignore[attr-defined]
        self.initial["time_zone"] = ""
        self.initial["currency"] = ""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if country := country_of(cleaned.get("country", "")):
            cleaned["currency"] = cleaned.get("currency") or country.currency
            cleaned["units"] = cleaned.get("units") or country.units.value
            cleaned["time_zone"] = cleaned.get("time_zone") or country.zone
            if not cleaned["currency"] and "currency" not in self.errors:
                said = ValidationError(_(CURRENCY_UNKNOWN), params={"country": country.said})
                self.add_error("currency", said)
        return cleaned

    @property
    def groups(self) -> list[Group]:
        """The two questions, then what follows from them."""
        return [
            Group(_("The firm"), bound_fields(self, "name", "country")),
            Group(
                _("What follows from the country"),
                bound_fields(self, "currency", "units", "time_zone"),
                folded=True,
            ),
        ]


class OrganisationForm(PricedForm[Organisation]):
    """The firm's settings."""

    prices = {"below_price_m2_yr": (Quantity.PRICE_BY_AREA, WORTH)}

    country = forms.ChoiceField(
        label=_lazy("Country"),
        choices=lambda: [("", _("Not said")), *country_choices()],
        required=False,
        help_text=_lazy("New sites, limits and units start from what is usual there."),
    )
    time_zone = ZoneField(
        label=_lazy("Time zone"), help_text=_lazy("Of the office. A new site starts with it.")
    )

    class Meta:
        model = Organisation
        fields: tuple[str, ...] = (
            "name",
            "country",
            "language",
            "time_zone",
            "currency",
            "below_price_m2_yr",
            "fresh_test_above",
            "approval_above",
            "second_factor",
        )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        firm = self.instance
        self.fields["time_zone"].begin_with(firm.country, firm.time_zone)  # type: ignore[attr-defined]

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()


class OwnerForm(OnceForm[Owner], PricedForm[Owner]):
    prices = {"below_price_m2_yr": (Quantity.PRICE_BY_AREA, WORTH)}

    class Meta:
        model = Owner
        fields = ("name", "address", "email", "phone", "language", "below_price_m2_yr", "note")
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


class RoleForm(SeenForm):
    """Another role for a member."""

    shown: ClassVar[Mapping[str, str]] = {"role": "role"}

    role = forms.TypedChoiceField(label=_lazy("Role"), choices=firm_roles, coerce=int)


def role_form(membership: Membership) -> RoleForm:
    """The role that somebody has, to be changed; one of several such forms on a page."""
    return RoleForm(row=membership, initial={"role": membership.role}, auto_id=f"%s-{membership.pk}")


class ProfileForm(FreshForm[User]):
    """What a person says of themselves. Mails about visits go to those who read for an owner alone."""

    class Meta:
        model = User
        fields = ("full_name", "language", "units", "day_mails")

    def __init__(self, *args: Any, reads_for_owner: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not reads_for_owner:
            del self.fields["day_mails"]
