"""A file of drives as it is sent."""

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import File

MOST_BYTES = 10 * 1024 * 1024
TOO_LARGE = "%(name)s has %(size).1f MB; at most 10 MB are read. Send the nearer places alone."


class DriveFileForm(forms.Form):
    """A file of comma-separated values."""

    file = forms.FileField(
        label="File of drives (CSV)",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv"}),
        error_messages={"required": "Choose a file.", "empty": "The file is empty. Choose it again."},
    )

    def clean_file(self) -> File[bytes]:
        """Not more than is read into memory."""
        sent: File[bytes] = self.cleaned_data["file"]
        size = sent.size or 0
        if size > MOST_BYTES:
            raise ValidationError(TOO_LARGE, params={"name": sent.name, "size": size / 1024 / 1024})
        return sent
