"""Text to typed values for keeping a document."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.audience import Audience
from core.forms.once import sending_id
from core.forms.parts import DayInput


def for_others() -> list[tuple[str, str]]:
    """Whom a document can be made for outside the firm."""
    return [(one.value, one.label) for one in (Audience.OWNER, Audience.LINK)]


def for_whom() -> list[tuple[str, str]]:
    """Whom a document can be made for."""
    return [*for_others(), (Audience.FIRM.value, Audience.FIRM.label)]


class KeepForm(forms.Form):
    """For whom a document is kept. device_id: made when the form was shown, so that sending twice keeps one."""

    audience = forms.TypedChoiceField(
        label=_lazy("Made for"),
        choices=for_whom,
        coerce=Audience,
        help_text=_lazy("The owner's people can open what is made for them. The firm can open all."),
    )
    device_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["device_id"] = sending_id(self)
        return cleaned


class KeepReportForm(KeepForm):
    """The same, with the first day of the report."""

    since = forms.DateField(
        widget=DayInput, label=_lazy("Since"), help_text=_lazy("The report covers this day until today.")
    )
    field_order = ("since", "audience")
