"""Documents that were kept as they were on a day."""

from typing import Any, Self

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.audience import Audience
from accounts.calc.roles import Role
from accounts.models import Organisation, Owner
from accounts.models.tenancy import TenantQuerySet
from core.calc.audit import AuditState
from core.calc.languages import Language
from core.models.rows import AuditedRecord
from qa.models import Site, Surface
from reporting.calc.snapshots import SnapshotKind


class SnapshotQuerySet(TenantQuerySet["Snapshot"]):
    """Kept documents: the firm reads all of its own; an owner's people those made for the owner and not withdrawn."""

    owner_path = "owner"

    def for_user(self, user: Any, role: Role = Role.OWNER) -> Self:
        """Documents on which `user` may act with at least `role`."""
        rows = super().for_user(user, role)
        if role != Role.OWNER:
            return rows
        of_firm = super().for_user(user, Role.VIEWER).values("pk")
        return rows.filter(Q(pk__in=of_firm) | Q(audience=Audience.OWNER, state=AuditState.ACTIVE))


class Snapshot(AuditedRecord):
    """A report or a handover record as it was on a day, for one audience: what it said then, as plain data.

    It is never changed. One kept by mistake is set aside: the firm still reads it, nobody else does. The owner is
    the one it was made for, whoever owns the site later. Its sentences are stored in its language, so it opens in that.
    """

    organisation = models.ForeignKey(Organisation, models.PROTECT, editable=False, related_name="+")
    owner = models.ForeignKey(Owner, models.PROTECT, editable=False, related_name="+")
    site = models.ForeignKey(Site, models.PROTECT, editable=False, related_name="kept_documents")
    surface = models.ForeignKey(
        Surface, models.PROTECT, null=True, editable=False, related_name="kept_documents"
    )
    kind = models.CharField(max_length=10, choices=SnapshotKind.choices, editable=False)
    audience = models.CharField(_lazy("made for"), max_length=8, choices=Audience.choices, editable=False)
    title = models.CharField(max_length=400, editable=False)
    since = models.DateField(null=True, editable=False, help_text="First day of the period, for a report.")
    until = models.DateField(editable=False, help_text="The day at the site on which it was made.")
    language = models.CharField(
        max_length=8,
        choices=Language.choices,
        default=Language.ENGLISH.value,
        editable=False,
        help_text="What it is written in, for good.",
    )
    made_at = models.DateTimeField(default=now, editable=False)
    payload = models.JSONField(editable=False, help_text="What it said, with the number of its schema.")

    objects = SnapshotQuerySet.as_manager()

    class Meta:
        ordering = ("-made_at", "pk")
        indexes = [models.Index(fields=["site", "kind", "-made_at"], name="reporting_kept_of_site")]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind=SnapshotKind.REPORT.value, surface__isnull=True, since__isnull=False)
                | Q(kind=SnapshotKind.HANDOVER.value, surface__isnull=False, since__isnull=True),
                name="reporting_kept_kind_whole",
                violation_error_message=_lazy(
                    "A report covers a site from a day on; a handover record one surface."
                ),
            )
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("reporting:kept-show", args=[self.pk])
