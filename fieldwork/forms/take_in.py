"""The copy of a phone as it is sent."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.format import fixed
from core.errors import UnusableRecordError
from fieldwork.calc.phone_copy import PhoneCopy, read_copy

MOST_BYTES = 100 * 1024 * 1024  # what is read into memory at once
TOO_LARGE = gettext_noop(
    "%(name)s has %(size)s MB; at most %(most)d MB are read. Write the copy in parts on the phone."
)


class TakeInForm(forms.Form):
    """One file; cleaned it is a `PhoneCopy`."""

    file = forms.FileField(
        label=_lazy("Copy from a phone"),
        widget=forms.ClearableFileInput(attrs={"accept": ".json,application/json"}),
        error_messages={
            "required": _lazy("Choose a file."),
            "empty": _lazy("The file is empty. Write the copy anew."),
        },
    )

    def clean_file(self) -> PhoneCopy:
        """The copy in the file."""
        sent = self.cleaned_data["file"]
        if sent.size > MOST_BYTES:
            params = {"name": sent.name, "size": fixed(sent.size / 1024**2, 1), "most": MOST_BYTES // 1024**2}
            raise ValidationError(_(TOO_LARGE), params=params)
        try:
            return read_copy(sent.read())
        except UnusableRecordError as error:
            raise ValidationError(str(error)) from error
