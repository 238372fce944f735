"""Fields for photos and PDFs; what is cleaned may be stored."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.file_kinds import MediaType
from core.forms.once import sending_id
from core.services.uploads import Accepted, Sent, accept

MOST_AT_ONCE = 12
TOO_MANY = gettext_noop("%(name)s was left out: at most %(most)d files go at once. Send it after these.")
CHOOSE_AGAIN = gettext_noop(
    "Choose the files again: a browser forgets them while something else is to be corrected."
)
ABOUT = gettext_noop(
    "JPEG, PNG or WebP photos, or PDFs, at most 20 MB each. Place and camera data are taken out of photos and videos "
    "unless you tick to keep them; a PDF is kept as it is."
)
ABOUT_VIDEO = gettext_noop(
    "A short video, MP4, WebM or QuickTime, of at most %d MB. Film the water going through."
)
SAY_WHAT = gettext_noop(
    "Say in words what the video shows, for who cannot see it: where, how much water, how long it stood."
)
WHERE_TO = gettext_noop(
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
            raise ValidationError(_("Choose at least one file."), code="required")
        return files


class WithFiles(forms.Form):
    """Adds files to a form; `sent` holds what may be stored once the form is valid.

    A file that cannot be kept takes nothing with it: the others are stored with what was typed, and `refused_files`
    says of each that is left out why.
    """

    refused_files: Sequence[str] = ()

    photos = FilesField(label=_lazy("Photos or PDFs"), required=False, help_text=_lazy(ABOUT))
    keep_location = forms.BooleanField(
        label=_lazy("Keep place and camera data in these files"), required=False
    )

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

    def ask_for_files_again(self) -> None:
        """Say what became of the files that came with what is to be corrected: the browser has let go of them."""
        if self.files_sent and "photos" not in self.errors:
            self.add_error("photos", [*self.refused_files, _(CHOOSE_AGAIN)])

    @property
    def files_sent(self) -> bool:
        """Whether files came with the form."""
        return bool(self.files) and self.add_prefix("photos") in self.files

    def _clean_form(self) -> None:
        # After all fields, so that what was ticked is known whatever the order of the fields.
        super()._clean_form()  # type: ignore[misc]
        self._accepted: list[Accepted] = []
        refused: list[str] = []
        for number, one in enumerate(self.cleaned_data.get("photos") or []):
            try:
                self._accepted.append(self._kept(one, number))
            except ValidationError as error:
                refused += error.messages
        self.refused_files = refused
        self._refuse_undescribed()
        if refused and self.fields["photos"].required and not self._accepted:
            self.add_error("photos", refused)

    def _kept(self, one: Any, number: int) -> Accepted:
        """The file as it is stored. Raises ValidationError, with its name, where it is not."""
        if number >= MOST_AT_ONCE:
            raise ValidationError(_(TOO_MANY), params={"name": one.name, "most": MOST_AT_ONCE})
        kept = accept(one, keep_location=self.cleaned_data["keep_location"])
        if kept.is_video and "caption" not in self.fields:
            raise ValidationError(_(WHERE_TO), params={"name": kept.name})
        return kept

    def _refuse_undescribed(self) -> None:
        """A picture that moves is told in words too, where the form takes words."""
        moves = any(one.is_video for one in self._accepted)
        if moves and not self.cleaned_data.get("caption") and "caption" not in self.errors:
            self.add_error("caption", _(SAY_WHAT))


class AttachForm(WithFiles):
    """Files alone, with what they show."""

    caption = forms.CharField(label=_lazy("What they show"), max_length=200, required=False)
    device_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    field_order = ("photos", "caption", "keep_location")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        photos = self.fields["photos"]
        photos.required, photos.label = True, _("Photos, a video or PDFs")
        photos.help_text = f"{_(ABOUT)} {_(ABOUT_VIDEO) % settings.VIDEO_MOST_MB}"

    @property
    def files_id(self) -> UUID | None:
        return sending_id(self)
