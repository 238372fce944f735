"""Rain records: what a gauge measured, for the sites near it."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation
from accounts.models.tenancy import M, TenantQuerySet
from core.models.rows import OnceRow, Row
from core.models.zones import time_zone_valid


class RainRecord(OnceRow):
    """A rain gauge or a station. One serves many sites."""

    organisation = models.ForeignKey(
        Organisation, models.PROTECT, related_name="rain_records", editable=False
    )
    name = models.CharField(_lazy("name"), max_length=120)
    place = models.CharField(_lazy("where the gauge stands"), max_length=240, blank=True)
    time_zone = models.CharField(
        _lazy("time zone"),
        max_length=64,
        default="UTC",
        validators=[time_zone_valid],
        help_text=_lazy("Of times that are written without an offset, such as Europe/Berlin."),
    )
    source = models.CharField(
        _lazy("where the figures come from"),
        max_length=240,
        blank=True,
        help_text=_lazy("Own gauge, weather service; and under which terms they may be used."),
    )

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="qa_rain_record_name_once",
                violation_error_message=_lazy(
                    "There is already a rain record of this name. Tell them apart."
                ),
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("qa:rain-detail", args=[self.pk])


class _RainSpan(Row):
    """Some time of a rain record, in UTC."""

    begins_at = models.DateTimeField(_lazy("begins at"))
    ends_at = models.DateTimeField(_lazy("ends at"))

    class Meta:
        abstract = True


class OfRainRecordQuerySet(TenantQuerySet[M]):
    organisation_path = "record__organisation"


class RainFall(_RainSpan):
    """Rain that fell at some time within a span. Dry spans have no row."""

    record = models.ForeignKey(RainRecord, models.CASCADE, related_name="falls", verbose_name=_lazy("record"))
    depth_mm = models.FloatField(_lazy("depth mm"), validators=[MinValueValidator(0)])

    objects = OfRainRecordQuerySet.as_manager()

    class Meta:
        ordering = ("begins_at",)
        indexes = [models.Index(fields=["record", "begins_at"], name="qa_rain_fall_by_time")]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("begins_at"), depth_mm__gt=0),
                name="qa_rain_fall_positive",
                violation_error_message=_lazy("Rain has a depth of more than 0, and ends after it begins."),
            )
        ]


class RainCover(_RainSpan):
    """A span of which a rain record tells, dry or wet."""

    record = models.ForeignKey(
        RainRecord, models.CASCADE, related_name="covers", verbose_name=_lazy("record")
    )

    objects = OfRainRecordQuerySet.as_manager()

    class Meta:
        ordering = ("begins_at",)
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("begins_at")),
                name="qa_rain_cover_positive",
                violation_error_message=_lazy("A span that is covered ends after it begins."),
            )
        ]
