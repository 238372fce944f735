"""Photos and PDFs of a cleaning. The link lives here, beside the row it points to, so that the app below
need not know of cleanings."""

from django.db import models
from django.urls import reverse

from accounts.models.files import FileQuerySet
from core.models.files import StoredFile
from maintenance.models.cleanings import CleaningEvent


class CleaningFileQuerySet(FileQuerySet["CleaningAttachment"]):
    hang_on = ("cleaning",)


class CleaningAttachment(StoredFile):
    """A file of a cleaning."""

    cleaning = models.ForeignKey(CleaningEvent, models.PROTECT, editable=False, related_name="attachments")

    objects = CleaningFileQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")

    @property
    def hangs_on(self) -> CleaningEvent:
        """The cleaning it shows."""
        return self.cleaning

    def file_url(self) -> str:
        """Where it is handed out."""
        return reverse("maintenance:cleaning-file-show", args=[self.pk])

    def thumbnail_url(self) -> str:
        """Where its small picture is handed out."""
        return reverse("maintenance:cleaning-file-thumbnail", args=[self.pk])

    def void_url(self) -> str:
        """Where it is set aside."""
        return reverse("maintenance:cleaning-file-void", args=[self.pk])
