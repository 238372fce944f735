"""Text to typed values for sending a document."""

import re
from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from accounts.calc.audience import Audience
from accounts.models import Owner, OwnerPerson
from core.forms.once import sending_id
from core.forms.parts import DayInput
from reporting.forms.kept import for_others
from reporting.forms.sharing import UNITS
from reporting.services.sendings import Mailing, Recipient

NOT_ADDRESSES = gettext_noop(
    "These are no e-mail addresses: %(given)s. Give each on a line of its own, like name@place.example."
)

NOBODY_READS = gettext_noop(
    "Nobody reads for {owner} yet: invite somebody on the owner's page, or type addresses, one on each line. Each gets "
    "a link of its own, which you can revoke."
)


class PeopleField(forms.ModelMultipleChoiceField[OwnerPerson]):
    """People who read for an owner, each with the address that is used."""

    def label_from_instance(self, obj: OwnerPerson) -> str:  # type: ignore[override]
        name, address = str(obj.user), obj.user.email
        return name if name == address else f"{name}, {address}"


class SendForm(forms.Form):
    """To whom a document goes, and what goes with it. device_id: so that sending twice sends once."""

    people = PeopleField(
        OwnerPerson.objects.none(),
        required=False,
        label=_lazy("People of the owner"),
        widget=forms.CheckboxSelectMultiple,
    )
    addresses = forms.CharField(
        required=False,
        label=_lazy("Other addresses"),
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off"}),
        help_text=_lazy("One on each line. Each gets a link of its own, which you can revoke."),
    )
    message = forms.CharField(
        required=False, max_length=4000, label=_lazy("Message"), widget=forms.Textarea(attrs={"rows": 4})
    )
    with_pdf = forms.BooleanField(required=False, initial=True, label=_lazy("Attach the PDF as well"))
    ends_on = forms.DateField(widget=DayInput, label=_lazy("The links open until"))
    units = forms.ChoiceField(choices=UNITS, label=_lazy("Numbers in"))
    device_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(self, *args: Any, owner: Owner, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        readers = owner.people.filter(user__is_active=True).select_related("user")
        field: Any = self.fields["people"]
        field.queryset, field.initial = readers, readers
        self.fields["addresses"].initial = _beside(owner.email, readers)
        if not readers:
            del self.fields["people"]
            self.fields["addresses"].label = _("Addresses")
            self.fields["addresses"].help_text = _(NOBODY_READS).format(owner=owner)

    def clean_addresses(self) -> list[str]:
        given = [one.lower() for one in re.split(r"[\s,;]+", self.cleaned_data["addresses"]) if one]
        wrong = [one for one in given if not _is_address(one)]
        if wrong:
            raise ValidationError(_(NOT_ADDRESSES), params={"given": ", ".join(wrong)})
        return list(dict.fromkeys(given))

    def mailing(self, server: str) -> Mailing:
        """What was asked for, once it is valid. server: the address of this server as the person reached it."""
        known = self.cleaned_data
        people = [Recipient(person.user.email.lower(), person) for person in known.get("people", ())]
        typed = [Recipient(one) for one in known["addresses"]]
        return Mailing(
            recipients=tuple({one.address: one for one in (*typed, *people)}.values()),
            server=server,
            message=known["message"],
            with_pdf=known["with_pdf"],
            ends_on=known["ends_on"],
            units=known["units"],
            device_id=sending_id(self),
        )


class SendReportForm(SendForm):
    """The same for a report that is made of it: for whom it is written, and from when."""

    audience = forms.TypedChoiceField(
        label=_lazy("Written for"),
        choices=for_others,
        initial=Audience.OWNER,
        coerce=Audience,
        help_text=_lazy("An owner reads prices, advice and names; whoever is given a link does not."),
    )
    since = forms.DateField(
        widget=DayInput, label=_lazy("Since"), help_text=_lazy("The report covers this day until today.")
    )
    field_order = ("people", "addresses", "audience", "since", "message", "with_pdf", "ends_on", "units")

    def report(self) -> tuple[Audience, date]:
        """For whom it is written, and its first day."""
        return self.cleaned_data["audience"], self.cleaned_data["since"]


class DueReportForm(SendReportForm):
    """The same for a report that fell due: whether the next ones wait for the office."""

    by_themselves = forms.BooleanField(
        required=False,
        label=_lazy("Send the next ones by themselves"),
        help_text=_lazy(
            "In the months agreed, to the same people in the same way. You can stop it on the report's page."
        ),
    )


def _beside(address: str, readers: Iterable[OwnerPerson]) -> str:
    """The owner's address for reports, where nobody who reads has it anyway."""
    return "" if address.lower() in {one.user.email.lower() for one in readers} else address


def _is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True
