"""Soil infiltration tests."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.format import day
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord
from qa.calc.soil import Pit, SoilRate, SoilReadings, SoilTestMethod, soil_rate
from qa.models.surfaces import AuditedQuerySet, Surface

_SIDES = [MinValueValidator(50), MaxValueValidator(20_000)]


def no_readings() -> dict[str, object]:
    """What is stored before a run is entered."""
    return SoilReadings().to_json()


class SoilTest(AuditedRecord):
    """What the soil took at one place, before the design or in the opened subgrade."""

    surface = models.ForeignKey(
        Surface, models.PROTECT, related_name="soil_tests", verbose_name=_lazy("surface")
    )
    tested_on = models.DateField(_lazy("tested on"))
    tested_by = models.CharField(_lazy("who tested"), max_length=120, blank=True)
    method = models.CharField(
        _lazy("method"),
        max_length=12,
        choices=SoilTestMethod.choices,
        default=SoilTestMethod.DOUBLE_RING.value,
    )
    place = models.CharField(
        _lazy("place"), max_length=120, help_text=_lazy("Where on the plan, such as north corner.")
    )
    depth_mm = models.FloatField(
        _lazy("depth below the ground (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(20_000)],
        help_text=_lazy("Of the floor of ring or pit; test where the subgrade will be."),
    )
    pit_length_mm = models.FloatField(
        _lazy("length of the pit (mm)"), null=True, blank=True, validators=_SIDES
    )
    pit_width_mm = models.FloatField(_lazy("width of the pit (mm)"), null=True, blank=True, validators=_SIDES)
    readings_json = models.JSONField(default=no_readings, editable=False)
    readings = StoredFact(SoilReadings, "readings_json")
    note = models.TextField(
        _lazy("note"),
        blank=True,
        help_text=_lazy("Soil seen, wetness before, rain, how long it was kept wet."),
    )

    objects = AuditedQuerySet.as_manager()

    class Meta:
        ordering = ("-tested_on", "-created_at")

    def __str__(self) -> str:
        return _("Soil test at {place}, {day}").format(place=self.place, day=day(self.tested_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:water-detail", args=[self.surface_id]) + "#soil-tests"

    @property
    def pit(self) -> Pit | None:
        """The pit in plan, where it was one."""
        if self.method != SoilTestMethod.PIT:
            return None
        return Pit(self.pit_length_mm or 0.0, self.pit_width_mm or 0.0)

    @property
    def result(self) -> SoilRate:
        """What the runs give."""
        return soil_rate(self.readings.runs, self.pit)

    def clean_fields(self, exclude: Any = None) -> None:
        self.place = " ".join(self.place.split())
        super().clean_fields(exclude=exclude)
