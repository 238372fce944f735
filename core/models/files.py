"""Photos, videos and PDFs as they are kept, whatever row they show something of."""

from typing import Any
from uuid import uuid4

from django.db import models
from django.utils.translation import gettext_lazy as _lazy

from core.calc.file_kinds import EXTENSIONS, PHOTOS, VIDEOS, MediaType, download_name
from core.models.rows import AuditedRecord


def random_path(instance: models.Model, filename: str) -> str:
    """A place nobody can guess, that says nothing of what was sent; folders keep listings short."""
    name = uuid4().hex
    return f"sent/{name[:2]}/{name}"


class StoredFile(AuditedRecord):
    """A file as it is kept: checked by content, under a random name, in no folder that is served.

    Each kind of row a file can hang on has its link in a model of the app that owns that row, so that
    no app needs to know of the ones above it.
    """

    hangs_on: Any = None

    content = models.FileField(upload_to=random_path, max_length=60, editable=False)
    thumbnail = models.FileField(upload_to=random_path, max_length=60, blank=True, editable=False)
    media_type = models.CharField(max_length=20, choices=MediaType.choices, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    width_px = models.PositiveIntegerField(null=True, editable=False)
    height_px = models.PositiveIntegerField(null=True, editable=False)
    duration_s = models.FloatField(null=True, editable=False, help_text="Of a video, where it says so.")
    original_name = models.CharField(max_length=120, editable=False)
    location_kept = models.BooleanField(
        _lazy("keep what the camera wrote into the photo, its place among it"), default=False
    )
    caption = models.CharField(_lazy("what it shows"), max_length=200, blank=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.caption or self.original_name

    def get_absolute_url(self) -> str:
        return str(self.hangs_on.get_absolute_url())

    @property
    def kind(self) -> MediaType:
        """What it is."""
        return MediaType(self.media_type)

    @property
    def is_photo(self) -> bool:
        """Whether it can be looked at in the page."""
        return self.kind in PHOTOS

    @property
    def is_video(self) -> bool:
        """Whether it can be played in the page."""
        return self.kind in VIDEOS

    @property
    def is_played(self) -> bool:
        """Whether the page plays it: one that was set aside is only named."""
        return self.is_active and self.is_video

    @property
    def is_shown(self) -> bool:
        """Whether the page shows the picture itself: one that was set aside is only named."""
        return self.is_active and self.is_photo

    @property
    def download_name(self) -> str:
        """The name it is handed out under."""
        return download_name(self.original_name, self.kind)

    @property
    def extension(self) -> str:
        """What its name ends in."""
        return EXTENSIONS[self.kind]
