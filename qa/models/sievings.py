"""Sieve results of aggregate samples."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.format import day
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord
from qa.calc.gradation import BANDS, Band
from qa.calc.sieving import SieveEntry, SieveReadings
from qa.models.buildups import Layer
from qa.models.presets import OwnBand
from qa.models.surfaces import AuditedQuerySet, Surface

DESIGNATIONS = [(key, band.name) for key, band in BANDS.items()]


def no_readings() -> dict[str, object]:
    """What is stored before a sieve is entered."""
    return SieveReadings().to_json()


class Sieving(AuditedRecord):
    """The sieve analysis of one sample, as entered, and the band it is held to."""

    surface = models.ForeignKey(
        Surface, models.PROTECT, related_name="sievings", verbose_name=_lazy("surface")
    )
    layer = models.ForeignKey(
        Layer, models.SET_NULL, null=True, blank=True, related_name="sievings", verbose_name=_lazy("layer")
    )
    # Stays readable when the build-up is entered anew and the layer goes.
    layer_name = models.CharField(max_length=160, blank=True, editable=False)
    sampled_on = models.DateField(_lazy("sampled on"))
    sampled_by = models.CharField(_lazy("who sampled and sieved"), max_length=120, blank=True)
    designation = models.CharField(max_length=4, blank=True, choices=DESIGNATIONS, editable=False)
    own_band = models.ForeignKey(OwnBand, models.PROTECT, null=True, editable=False, related_name="sievings")
    entry = models.CharField(
        _lazy("what is entered"), max_length=8, choices=SieveEntry.choices, default=SieveEntry.PASSING.value
    )
    readings_json = models.JSONField(default=no_readings, editable=False)
    readings = StoredFact(SieveReadings, "readings_json")
    pan_g = models.FloatField(
        _lazy("in the pan (g)"), null=True, blank=True, validators=[MinValueValidator(0)]
    )
    dry_mass_g = models.FloatField(
        _lazy("dry mass before washing (g)"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    wash_loss_percent = models.FloatField(
        _lazy("wash loss (%)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(50)],
        help_text=_lazy("Finer than 0.075 mm (No. 200), washed out before sieving, of the dry mass."),
    )
    note = models.TextField(_lazy("note"), blank=True)

    objects = AuditedQuerySet.as_manager()

    class Meta:
        ordering = ("-sampled_on", "-created_at")
        constraints = [
            models.CheckConstraint(
                condition=(~Q(designation="") & Q(own_band__isnull=True))
                | Q(designation="", own_band__isnull=False),
                name="qa_sieving_one_band",
                violation_error_message=_lazy("Choose one band: a size designation or a band of the firm."),
            )
        ]

    def __str__(self) -> str:
        of = self.layer_name or self.surface
        return _("Sieving of {layer}, {day}").format(layer=of, day=day(self.sampled_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:sieving-detail", args=[self.pk])

    @property
    def is_by_mass(self) -> bool:
        """Whether the mass on each sieve was entered rather than the percentage."""
        return self.entry == SieveEntry.RETAINED

    @property
    def band(self) -> Band:
        """The band it is held to."""
        return self.own_band.as_band if self.own_band else BANDS[self.designation]

    @property
    def by_sieve(self) -> dict[float, float]:
        """What was entered, by opening in mm."""
        return dict(self.readings.rows)

    def take_band(self, chosen: "str | OwnBand") -> None:
        """Hold the sample to a designation or to an own band."""
        own: Any = chosen if isinstance(chosen, OwnBand) else None
        self.own_band, self.designation = own, "" if own else str(chosen)
