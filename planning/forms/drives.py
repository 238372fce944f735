"""A file of drives as it is sent."""

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.format import fixed

MOST_BYTES = 10 * 1024 * 1024
TOO_LARGE = gettext_noop("%(name)s has %(size)s MB; at most 10 MB are read. Send the nearer places alone.")


class DriveFileForm(forms.Form):
    """A file of comma-separated values."""

    file = forms.FileField(
        label=_lazy("File of drives (CSV)"),
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv"}),
        error_messages={
            "required": _lazy("Choose a file."),
            "empty": _lazy("The file is empty. Choose it again."),
        },
    )

    def clean_file(self) -> File[bytes]:
        """Not more than is read into memory."""
        sent: File[bytes] = self.cleaned_data["file"]
        size = sent.size or 0
        if size > MOST_BYTES:
            raise ValidationError(
                _(TOO_LARGE), params={"name": sent.name, "size": fixed(size / 1024 / 1024, 1)}
            )
        return sent
