"""Fields for photos and PDFs; what is cleaned may be stored."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.core.exceptions import ValidationError

from core.forms.once import sending_id
from core.services.uploads import Accepted, Sent, accept

MOST_AT_ONCE = 12
TOO_MANY = "%(count)d files at once; at most %(most)d. Send the others after these."
ABOUT = (
    "JPEG, PNG or WebP photos, or PDFs, at most 20 MB each. Place and camera data are taken out of photos "
    "unless you tick to keep them; a PDF is kept as it is."
)


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Any number of files. `to_python` is called with a list."""

    def __init__(self, **kwargs: Any) -> None:
        widget = SeveralFiles(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"})
        super().__init__(widget=widget, allow_empty_file=True, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = [one for one in (data or []) if one]
        if self.required and not files:
            raise ValidationError("Choose at least one file.", code="required")
        if len(files) > MOST_AT_ONCE:
            raise ValidationError(TOO_MANY, params={"count": len(files), "most": MOST_AT_ONCE})
        return files


class WithFiles(forms.Form):
    """Adds files to a form; `sent` holds what may be stored once the form is valid."""

    photos = FilesField(label="Photos or PDFs", required=False, help_text=ABOUT)
    keep_location = forms.BooleanField(label="Keep place and camera data in these photos", required=False)

    @property
    def files_id(self) -> UUID | None:
        """Under what id the files are kept where they come with no row of their own."""
        return None

    @property
    def sent(self) -> Sent:
        """What may be stored."""
        cleaned = self.cleaned_data
        return Sent(
            files=tuple(self._accepted),
            caption=cleaned.get("caption", ""),
            keep_location=cleaned["keep_location"],
            device_id=self.files_id,
        )

    def _clean_form(self) -> None:
        # After all fields, so that what was ticked is known whatever the order of the fields.
        super()._clean_form()  # type: ignore[misc]
        self._accepted: list[Accepted] = []
        for one in self.cleaned_data.get("photos") or []:
            try:
                self._accepted.append(accept(one, keep_location=self.cleaned_data["keep_location"]))
            except ValidationError as error:
                self.add_error("photos", error)


class AttachForm(WithFiles):
    """Files alone, with what they show."""

    caption = forms.CharField(label="What they show", max_length=200, required=False)
    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    field_order = ("photos", "caption", "keep_location")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["photos"].required = True

    @property
    def files_id(self) -> UUID | None:
        return sending_id(self)
