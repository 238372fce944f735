"""Rules of the firm's own, beside those looked up in documents: limits of the rate, bands of grading."""

from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop
from simple_history.models import HistoricalRecords

from accounts.models import Organisation
from accounts.models.tenancy import M, TenantQuerySet
from core.models.payloads import StoredFact
from core.models.rows import OnceRow
from qa.calc.gradation import Band, BandLimits
from qa.calc.limits import LimitPreset
from qa.calc.sources import Source, SourceStatus

RATE_VALIDATORS = [MinValueValidator(0.1), MaxValueValidator(1e5)]


class OwnRuleQuerySet(TenantQuerySet[M]):
    organisation_path = "organisation"

    def offered(self) -> Self:
        """Rules that may be chosen anew."""
        return self.filter(retired=False)


class OwnLimit(OnceRow):
    """A limit and an acceptance rate that the firm keeps, with where they come from."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="own_limits", editable=False)
    name = models.CharField(_lazy("name"), max_length=80)
    limit_mm_h = models.FloatField(
        _lazy("clean when below (mm/h)"),
        null=True,
        blank=True,
        validators=RATE_VALIDATORS,
        help_text=_lazy("The rate below which a surface must be cleaned."),
    )
    acceptance_mm_h = models.FloatField(
        _lazy("at least, when new (mm/h)"), null=True, blank=True, validators=RATE_VALIDATORS
    )
    source = models.CharField(
        _lazy("where it comes from"),
        max_length=200,
        help_text=_lazy("A document with its clause, a contract, a design."),
    )
    retired = models.BooleanField(_lazy("no longer offered"), default=False, editable=False)

    objects = OwnRuleQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("retired", "name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="qa_own_limit_name_once",
                violation_error_message=_lazy("The firm already has a limit of this name. Tell them apart."),
            ),
            models.CheckConstraint(
                condition=Q(limit_mm_h__isnull=False) | Q(acceptance_mm_h__isnull=False),
                name="qa_own_limit_says_something",
                violation_error_message=_lazy("Enter the limit in service, the rate when new, or both."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("qa:rule-list")

    @property
    def as_preset(self) -> LimitPreset:
        """The rule as the formulas take it."""
        return LimitPreset(
            self.name,
            Source(self.source, SourceStatus.ENTERED),
            gettext_noop("own rule of the firm"),
            acceptance_mm_h=self.acceptance_mm_h,
            limit_mm_h=self.limit_mm_h,
        )


def no_limits() -> dict[str, object]:
    """What is stored before a sieve is entered."""
    return BandLimits().to_json()


class OwnBand(OnceRow):
    """A grading band that the firm keeps: for each sieve the least and greatest percent passing."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="own_bands", editable=False)
    name = models.CharField(_lazy("name"), max_length=80)
    limits_json = models.JSONField(default=no_limits, editable=False)
    limits = StoredFact(BandLimits, "limits_json")
    source = models.CharField(
        _lazy("where it comes from"),
        max_length=200,
        help_text=_lazy("A standard with its table, a pit, a specification."),
    )
    retired = models.BooleanField(_lazy("no longer offered"), default=False, editable=False)

    objects = OwnRuleQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("retired", "name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="qa_own_band_name_once",
                violation_error_message=_lazy("The firm already has a band of this name. Tell them apart."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("qa:rule-list")

    @property
    def as_band(self) -> Band:
        """The band as the formulas take it. Raises UnusableRecordError for one that no stone could meet."""
        limits = {sieve: (low, high) for sieve, low, high in self.limits.rows}
        return Band(self.name, limits, Source(self.source, SourceStatus.ENTERED))
