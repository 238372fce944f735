"""Test rounds and the infiltration tests in them."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from accounts.models import Units
from accounts.rows import Fact
from accounts.tenancy import TenantQuerySet
from qa.calc.ring import PROCEDURES, Bound, Ending, UnitSystem
from qa.models.buildups import Location
from qa.models.surfaces import Surface


class Purpose(models.TextChoices):
    ACCEPTANCE = "acceptance", "Acceptance"
    ROUTINE = "routine", "Routine"
    BEFORE_CLEANING = "before_cleaning", "Before cleaning"
    AFTER_CLEANING = "after_cleaning", "After cleaning"
    COMPLAINT = "complaint", "Complaint"


class Method(models.TextChoices):
    RING = "ring", "Constant-head single ring"


class EndingChoice(models.TextChoices):
    DRAINED = Ending.DRAINED.value, "No free water was left"
    STILL_PONDED = Ending.STILL_PONDED.value, "Still ponded when stopped"
    TOO_FAST = Ending.TOO_FAST.value, "Drained too fast to hold the head"


class FactQuerySet(TenantQuerySet):
    organisation_path = "surface__site__organisation"
    owner_path = "surface__site__owner"

    def counting(self) -> "FactQuerySet":
        """Records that results and forecasts use."""
        return self.filter(state="recorded")


class TestQuerySet(FactQuerySet):
    organisation_path = "round__surface__site__organisation"
    owner_path = "round__surface__site__owner"


class TestRound(Fact):
    """The tests of one surface on one day, with the weather."""

    __test__ = False  # not a test class, whatever its name suggests to a test runner

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="rounds")
    tested_on = models.DateField("tested on", help_text="Calendar date at the site.")
    purpose = models.CharField(max_length=16, choices=Purpose, default=Purpose.ROUTINE)
    hours_since_rain = models.FloatField(
        "hours since the last rain",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(10_000)],
    )
    standing_water = models.BooleanField("water stood on the surface", default=False)
    air_temperature_c = models.FloatField(
        "air temperature (°C)",
        null=True,
        blank=True,
        validators=[MinValueValidator(-40), MaxValueValidator(60)],
    )
    surface_temperature_c = models.FloatField(
        "surface temperature (°C)",
        null=True,
        blank=True,
        validators=[MinValueValidator(-40), MaxValueValidator(90)],
    )
    note = models.TextField(blank=True)

    objects = FactQuerySet.as_manager()
    history = HistoricalRecords(history_change_reason_field=models.TextField(null=True))

    class Meta:
        ordering = ("-tested_on", "-created_at")
        indexes = [models.Index(fields=["surface", "tested_on"], name="qa_round_by_surface_day")]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} round of {self.tested_on:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("qa:round-detail", args=[self.pk])


class InfiltrationTest(Fact):
    """One test at one location: the readings as taken, in the units taken, and the rate they give."""

    round = models.ForeignKey(TestRound, models.PROTECT, related_name="tests")
    location = models.ForeignKey(Location, models.PROTECT, null=True, blank=True, related_name="tests")
    spot = models.CharField("spot, if not a fixed location", max_length=80, blank=True)
    method = models.CharField(max_length=16, choices=Method, default=Method.RING, editable=False)
    unit_system = models.CharField("units of the readings", max_length=2, choices=Units, default=Units.SI)
    prewet_mass = models.FloatField("prewet mass", null=True, blank=True)
    prewet_time_s = models.FloatField("prewet time (s)", null=True, blank=True)
    start_delay_s = models.FloatField("start after prewetting (s)", null=True, blank=True)
    test_mass = models.FloatField("test mass")
    ring_diameter = models.FloatField("inside diameter of the ring")
    elapsed_s = models.FloatField("elapsed time (s)")
    ended = models.CharField(
        "how it ended", max_length=12, choices=EndingChoice, default=EndingChoice.DRAINED
    )
    leak_seen = models.BooleanField("water leaked past the seal", default=False)
    sequence = models.PositiveSmallIntegerField("number at this spot that day", default=1, editable=False)
    minutes_since_first = models.FloatField("minutes since the first test at the spot", null=True, blank=True)
    rewetted = models.BooleanField("prewetted for this test", default=True)
    rate_mm_h = models.FloatField(editable=False)
    bound = models.CharField(max_length=1, editable=False, choices=[(b.value, b.value) for b in Bound])
    deviations = models.JSONField(default=list, blank=True, editable=False)
    note = models.TextField(blank=True)

    objects = TestQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(test_mass__gt=0, ring_diameter__gt=0, elapsed_s__gt=0, rate_mm_h__gt=0),
                name="qa_test_readings_positive",
                violation_error_message="Mass, ring diameter, time and rate must be more than 0.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.place} on {self.round.tested_on:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("qa:test-detail", args=[self.pk])

    @property
    def place(self) -> str:
        """The location's label or the spot in words."""
        return self.location.label if self.location else self.spot or "unnamed spot"

    @property
    def units(self) -> dict[str, str]:
        """The units beside the readings."""
        procedure = PROCEDURES[UnitSystem(self.unit_system)]
        return {"mass": procedure.mass_unit, "length": procedure.length_unit, "rate": procedure.rate_unit}
