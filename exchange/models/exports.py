"""Everything a firm has, in one file to take away."""

from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.models.files import random_path
from core.models.jobs import Job, JobQuerySet
from core.models.rows import OnceRow, Row


class DataExportQuerySet(JobQuerySet["DataExport"], TenantQuerySet["DataExport"]):  # type: ignore[override]
    organisation_path = "organisation"


class DataExport(Row, Job):
    """An archive of everything a firm has, made in the background and kept some days for its admins."""

    LEASE: ClassVar[timedelta] = timedelta(minutes=5)
    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=10)
    KEPT: ClassVar[timedelta] = timedelta(days=7)

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="data_exports", editable=False
    )
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, editable=False, related_name="+")
    content = models.FileField(upload_to=random_path, max_length=60, blank=True, editable=False)
    size_bytes = models.PositiveBigIntegerField(null=True, editable=False)
    rows = models.PositiveIntegerField(null=True, editable=False)

    objects = DataExportQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        return _("Everything of {firm}, {day}").format(firm=self.organisation, day=day(self.created_at))

    def get_absolute_url(self) -> str:
        return reverse("exchange:export-list")


class RestorationQuerySet(JobQuerySet["Restoration"], TenantQuerySet["Restoration"]):  # type: ignore[override]
    organisation_path = "organisation"


class Restoration(OnceRow, Job):
    """An archive of everything a firm had, brought back into a firm that is empty.

    content: the archive; gone once it is brought back, and some days after it could not be. rows: how many came back.
    """

    LEASE: ClassVar[timedelta] = timedelta(minutes=5)
    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=10)
    MOST_ATTEMPTS: ClassVar[int] = 2
    KEPT: ClassVar[timedelta] = timedelta(days=7)

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="restorations", editable=False
    )
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, editable=False, related_name="+")
    content = models.FileField(upload_to=random_path, max_length=60, blank=True, editable=False)
    rows = models.PositiveIntegerField(null=True, editable=False)

    objects = RestorationQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        return _("Archive brought back into {firm}").format(firm=self.organisation)

    def get_absolute_url(self) -> str:
        return reverse("exchange:export-list")
