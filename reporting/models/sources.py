"""Criteria that a firm has held against the document they come from."""

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.audit import AuditState
from core.models.rows import AuditedRecord


class VerifiedSourceQuerySet(TenantQuerySet["VerifiedSource"]):
    """What a firm verified is its own: owners read it in the documents."""

    def active(self) -> "VerifiedSourceQuerySet":
        """Those that documents go by."""
        return self.filter(state=AuditState.ACTIVE)


class VerifiedSource(AuditedRecord):
    """That a firm has held what this tool says of a source against an edition of the document itself."""

    organisation = models.ForeignKey(
        Organisation, models.PROTECT, related_name="verified_sources", editable=False
    )
    citation = models.CharField(max_length=240, editable=False)
    edition = models.CharField(
        _lazy("edition"),
        max_length=80,
        help_text=_lazy("As the document calls itself: its year, number or revision, such as edition 2021."),
    )
    verified_by = models.CharField(
        _lazy("verified by"),
        max_length=80,
        help_text=_lazy("Who held the criteria against it. Documents to owners name them."),
    )
    verified_on = models.DateField(_lazy("verified on"))

    objects = VerifiedSourceQuerySet.as_manager()

    class Meta:
        ordering = ("citation", "-created_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "citation"),
                condition=Q(state=AuditState.ACTIVE.value),
                name="reporting_source_verified_once",
                violation_error_message=_lazy(
                    "Somebody of the firm marked it as verified meanwhile. Open the list again."
                ),
            )
        ]

    def __str__(self) -> str:
        return f"{self.citation}, {self.edition}"

    def get_absolute_url(self) -> str:
        return reverse("reporting:reference-list")
