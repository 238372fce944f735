"""Photos and PDFs that show what was built or found."""

from collections.abc import Iterator

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _lazy

from accounts.models.files import FileQuerySet
from core.models.files import StoredFile
from qa.models.construction import CheckEntry, CorrectiveWork
from qa.models.inspections import InspectionFinding, Remedy
from qa.models.rounds import InfiltrationTest, TestRound
from qa.models.surfaces import Surface

KINDS_OF_ROW = ("entry", "work", "round", "test", "surface", "finding", "remedy")


def _exactly_one() -> Q:
    one = Q()
    for name in KINDS_OF_ROW:
        one |= Q(**{f"{other}__isnull": other != name for other in KINDS_OF_ROW})
    return one


ShownRow = CheckEntry | CorrectiveWork | TestRound | InfiltrationTest | Surface | InspectionFinding | Remedy


class AttachmentQuerySet(FileQuerySet["Attachment"]):
    hang_on = KINDS_OF_ROW


class Attachment(StoredFile):
    """A file of a finding, of what was done about it, of a test round, one of its
    tests or a surface: of exactly one of them.
    """

    entry = models.ForeignKey(
        CheckEntry, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    work = models.ForeignKey(
        CorrectiveWork, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    round = models.ForeignKey(
        TestRound, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    test = models.ForeignKey(
        InfiltrationTest, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    surface = models.ForeignKey(
        Surface, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    finding = models.ForeignKey(
        InspectionFinding, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    remedy = models.ForeignKey(Remedy, models.PROTECT, null=True, editable=False, related_name="attachments")

    objects = AttachmentQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=_exactly_one(),
                name="qa_attachment_hangs_on_one_row",
                violation_error_message=_lazy(
                    "A file belongs to exactly one finding, work, remedy, round, test or surface."
                ),
            )
        ]

    @property
    def hangs_on(self) -> ShownRow:
        """The row it shows something of."""
        rows: Iterator[ShownRow | None]
        rows = (getattr(self, name) for name in KINDS_OF_ROW)
        return next(row for row in rows if row is not None)

    def file_url(self) -> str:
        """Where it is handed out."""
        return reverse("qa:file-show", args=[self.pk])

    def thumbnail_url(self) -> str:
        """Where its small picture is handed out."""
        return reverse("qa:file-thumbnail", args=[self.pk])

    def void_url(self) -> str:
        """Where it is set aside."""
        return reverse("qa:file-void", args=[self.pk])
