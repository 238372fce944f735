"""Photos and PDFs that show what was built, found or done."""

from collections.abc import Iterator
from typing import Any, Self
from uuid import uuid4

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.roles import Role
from accounts.rows import Fact
from accounts.tenancy import TenantQuerySet
from qa.models.construction import CheckEntry, CorrectiveWork
from qa.models.rounds import TestRound
from qa.models.surfaces import Surface
from qa.uploads import EXTENSIONS, Kind, download_name


def random_path(instance: models.Model, filename: str) -> str:
    """A place nobody can guess, that says nothing of what was sent; folders keep listings short."""
    name = uuid4().hex
    return f"sent/{name[:2]}/{name}"


class FileQuerySet(TenantQuerySet):
    """Files are seen by who sees the row they hang on; one set aside is kept from the owner's people."""

    hang_on: tuple[str, ...] = ()

    def for_user(self, user: Any, role: Role = Role.OWNER) -> Self:
        """Files on which `user` may act with at least `role`."""
        allowed = Q()
        for path, rows in self._hanging_on():
            here = Q(**{f"{path}__in": rows.for_user(user, role).values("pk")})
            if role == Role.OWNER:
                of_firm = Q(**{f"{path}__in": rows.for_user(user, Role.VIEWER).values("pk")})
                here &= ~Q(state=Fact.State.SET_ASIDE) | of_firm
            allowed |= here
        return self.filter(allowed)

    def of_organisation(self, organisation: models.Model) -> Self:
        """Files of one organisation."""
        allowed = Q()
        for path, rows in self._hanging_on():
            allowed |= Q(**{f"{path}__in": rows.of_organisation(organisation).values("pk")})
        return self.filter(allowed)

    def counting(self) -> Self:
        """Files that pages and reports show."""
        return self.filter(state=Fact.State.RECORDED)

    def _hanging_on(self) -> Iterator[tuple[str, TenantQuerySet]]:
        for path in self.hang_on:
            model: Any = self.model._meta.get_field(path).related_model
            yield path, model._default_manager.all()


class StoredFile(Fact):
    """A file as it is kept: checked by content, under a random name, in no folder that is served.

    Each kind of row a file can hang on has its link in a model of the app that owns that row, so that
    no app needs to know of the ones above it.
    """

    hangs_on: Any = None

    class MediaType(models.TextChoices):
        JPEG = Kind.JPEG.value, "JPEG photo"
        PNG = Kind.PNG.value, "PNG picture"
        WEBP = Kind.WEBP.value, "WebP photo"
        PDF = Kind.PDF.value, "PDF"

    content = models.FileField(upload_to=random_path, max_length=60, editable=False)
    thumbnail = models.FileField(upload_to=random_path, max_length=60, blank=True, editable=False)
    media_type = models.CharField(max_length=20, choices=MediaType, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    width_px = models.PositiveIntegerField(null=True, editable=False)
    height_px = models.PositiveIntegerField(null=True, editable=False)
    original_name = models.CharField(max_length=120, editable=False)
    location_kept = models.BooleanField(
        "keep what the camera wrote into the photo, its place among it", default=False
    )
    caption = models.CharField("what it shows", max_length=200, blank=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.caption or self.original_name

    def get_absolute_url(self) -> str:
        return self.hangs_on.get_absolute_url()

    @property
    def kind(self) -> Kind:
        """What it is."""
        return Kind(self.media_type)

    @property
    def is_photo(self) -> bool:
        """Whether it can be looked at in the page."""
        return self.kind is not Kind.PDF

    @property
    def download_name(self) -> str:
        """The name it is handed out under."""
        return download_name(self.original_name, self.kind)

    @property
    def extension(self) -> str:
        """What its name ends in."""
        return EXTENSIONS[self.kind]


KINDS_OF_ROW = ("entry", "work", "round", "surface")


def _exactly_one() -> Q:
    one = Q()
    for name in KINDS_OF_ROW:
        one |= Q(**{f"{other}__isnull": other != name for other in KINDS_OF_ROW})
    return one


class AttachmentQuerySet(FileQuerySet):
    hang_on = KINDS_OF_ROW


class Attachment(StoredFile):
    """A file of a finding, a corrective work, a test round or a surface: of exactly one of them."""

    entry = models.ForeignKey(
        CheckEntry, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    work = models.ForeignKey(
        CorrectiveWork, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    round = models.ForeignKey(
        TestRound, models.PROTECT, null=True, editable=False, related_name="attachments"
    )
    surface = models.ForeignKey(
        Surface, models.PROTECT, null=True, editable=False, related_name="attachments"
    )

    objects = AttachmentQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=_exactly_one(),
                name="qa_attachment_hangs_on_one_row",
                violation_error_message="A file belongs to exactly one finding, work, round or surface.",
            )
        ]

    @property
    def hangs_on(self) -> CheckEntry | CorrectiveWork | TestRound | Surface:
        """The row it shows something of."""
        return next(row for name in KINDS_OF_ROW if (row := getattr(self, name)) is not None)

    def file_url(self) -> str:
        """Where it is handed out."""
        return reverse("qa:file-show", args=[self.pk])

    def thumbnail_url(self) -> str:
        """Where its small picture is handed out."""
        return reverse("qa:file-thumbnail", args=[self.pk])

    def set_aside_url(self) -> str:
        """Where it is set aside."""
        return reverse("qa:file-set-aside", args=[self.pk])
