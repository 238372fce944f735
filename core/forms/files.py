"""Fields for photos and PDFs; what is cleaned may be stored."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from core.calc.file_kinds import MediaType
from core.forms.once import sending_id
from core.services.uploads import Accepted, Sent, accept

MOST_AT_ONCE = 12
TOO_MANY = "%(count)d files at once; at most %(most)d. Send the others after these."
ABOUT = (
    "JPEG, PNG or WebP photos, or PDFs, at most 20 MB each. Place and camera data are taken out of photos and videos "
    "unless you tick to keep them; a PDF is kept as it is."
)
ABOUT_VIDEO = "A short video, MP4, WebM or QuickTime, of at most %d MB. Film the water going through."
SAY_WHAT = (
    "Say in words what the video shows, for who cannot see it: where, how much water, how long it stood."
)
WHERE_TO = (
    "%(name)s is a video. Add it on the page of the test round or the surface, where it can be described."
)


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Any number of files. `to_python` is called with a list."""

    def __init__(self, **kwargs: Any) -> None:
        widget = SeveralFiles(attrs={"accept": ",".join(MediaType.values)})
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
    keep_location = forms.BooleanField(label="Keep place and camera data in these files", required=False)

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
        self._refuse_undescribed()

    def _refuse_undescribed(self) -> None:
        """A picture that moves is told in words too, where the form takes words."""
        for video in (one for one in self._accepted if one.is_video):
            if "caption" not in self.fields:
                self.add_error("photos", ValidationError(WHERE_TO, params={"name": video.name}))
            elif not self.cleaned_data.get("caption") and "caption" not in self.errors:
                self.add_error("caption", SAY_WHAT)


class AttachForm(WithFiles):
    """Files alone, with what they show."""

    caption = forms.CharField(label="What they show", max_length=200, required=False)
    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    field_order = ("photos", "caption", "keep_location")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        photos = self.fields["photos"]
        photos.required, photos.label = True, "Photos, a video or PDFs"
        photos.help_text = f"{ABOUT} {ABOUT_VIDEO % settings.VIDEO_MOST_MB}"

    @property
    def files_id(self) -> UUID | None:
        return sending_id(self)
