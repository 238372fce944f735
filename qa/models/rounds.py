"""Test rounds and the infiltration tests in them."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from core.calc.audit import AuditState
from core.calc.bounds import Bound
from core.calc.format import day
from core.calc.paving import TestMethod
from core.calc.units import UnitSystem
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord
from qa.calc.deviations import Deviation, Deviations, bounding, voiding
from qa.calc.field_readings import FieldReadings
from qa.calc.methods import WITHOUT_RATE
from qa.calc.ring import PROCEDURES, Ending, Seal
from qa.calc.rounds import Purpose
from qa.calc.validity import RoundConditions, weather_deviations
from qa.models.buildups import Location
from qa.models.surfaces import AuditedQuerySet, Surface

_RATELESS = [method.value for method in WITHOUT_RATE]


def no_readings() -> dict[str, object]:
    """What a ring test stores in place of other methods' readings."""
    return FieldReadings().to_json()


def no_deviations() -> dict[str, object]:
    """What a test without a deviation stores."""
    return Deviations().to_json()


class TestQuerySet(AuditedQuerySet["InfiltrationTest"]):
    site_path = "round__surface__site"

    def in_active_rounds(self) -> "TestQuerySet":
        """Tests that count, in rounds that count."""
        return self.active().filter(round__state=AuditState.ACTIVE)

    def valid(self) -> "TestQuerySet":
        """Tests that no deviation voids, the weather of their round included."""
        return self.filter(is_valid=True)

    def with_rate(self) -> "TestQuerySet":
        """Tests by methods that give a rate."""
        return self.exclude(method__in=WITHOUT_RATE)


class TestRound(AuditedRecord):
    """The tests of one surface on one day, with the weather."""

    __test__ = False  # not a test class, whatever its name suggests to a test runner

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="rounds", verbose_name=_lazy("surface"))
    tested_on = models.DateField(_lazy("tested on"), help_text=_lazy("Calendar date at the site."))
    purpose = models.CharField(
        _lazy("purpose"), max_length=16, choices=Purpose.choices, default=Purpose.ROUTINE.value
    )
    hours_since_rain = models.FloatField(
        _lazy("hours since the last rain"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(10_000)],
    )
    standing_water = models.BooleanField(_lazy("water stood on the surface"), default=False)
    air_temperature_c = models.FloatField(
        _lazy("air temperature (°C)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-40), MaxValueValidator(60)],
    )
    surface_temperature_c = models.FloatField(
        _lazy("surface temperature (°C)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-40), MaxValueValidator(90)],
    )
    note = models.TextField(_lazy("note"), blank=True)

    objects = AuditedQuerySet.as_manager()
    history = HistoricalRecords(history_change_reason_field=models.TextField(null=True))

    class Meta:
        ordering = ("-tested_on", "-created_at")
        # By the second one programs page through them.
        indexes = [
            models.Index(fields=["surface", "tested_on"], name="qa_round_by_surface_day"),
            models.Index(fields=["created_at", "id"], name="qa_round_as_stored"),
        ]

    def __str__(self) -> str:
        purpose = self.get_purpose_display()
        return _("{purpose} round of {day}").format(purpose=purpose, day=day(self.tested_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:round-detail", args=[self.pk])

    @property
    def crumb(self) -> str:
        """What it is called below its surface."""
        return _("Round of {day}").format(day=day(self.tested_on))

    @property
    def conditions(self) -> RoundConditions:
        """The weather, as it bears on what the tests are worth."""
        return RoundConditions(self.hours_since_rain, self.standing_water)


class InfiltrationTest(AuditedRecord):
    """One test at one location: the readings as taken, in the units taken, and the rate they give.

    The ring test, taken far more often than any other, has columns of its own; the other methods keep
    theirs in `readings`, by the keys of `qa.calc.field_tests`. Screening and relative methods have no
    rate but an own value. One that a deviation or the weather voids is kept, shown, and counts nowhere.
    """

    round = models.ForeignKey(TestRound, models.PROTECT, related_name="tests", verbose_name=_lazy("round"))
    location = models.ForeignKey(
        Location, models.PROTECT, null=True, blank=True, related_name="tests", verbose_name=_lazy("location")
    )
    spot = models.CharField(_lazy("spot, if not a fixed location"), max_length=80, blank=True)
    method = models.CharField(
        max_length=20, choices=TestMethod.choices, default=TestMethod.RING.value, editable=False
    )
    unit_system = models.CharField(
        _lazy("units of the readings"), max_length=2, choices=UnitSystem.choices, default=UnitSystem.SI.value
    )
    prewet_mass = models.FloatField(_lazy("prewet mass"), null=True, blank=True)
    prewet_time_s = models.FloatField(_lazy("prewet time (s)"), null=True, blank=True)
    start_delay_s = models.FloatField(_lazy("start after prewetting (s)"), null=True, blank=True)
    test_mass = models.FloatField(_lazy("test mass"), null=True, blank=True)
    ring_diameter = models.FloatField(_lazy("inside diameter of the ring"), null=True, blank=True)
    elapsed_s = models.FloatField(_lazy("elapsed time (s)"), null=True, blank=True)
    readings_json = models.JSONField(_lazy("readings of other methods"), default=no_readings, editable=False)
    readings = StoredFact(FieldReadings, "readings_json")
    ended = models.CharField(
        _lazy("how it ended"), max_length=12, choices=Ending.choices, default=Ending.DRAINED.value
    )
    seal = models.CharField(_lazy("sealed with"), max_length=10, choices=Seal.choices, blank=True)
    ring_position = models.CharField(
        _lazy("position relative to the joints"),
        max_length=200,
        blank=True,
        help_text=_lazy("Where the ring sits on the joint pattern, so that later tests use the same place."),
    )
    leak_seen = models.BooleanField(_lazy("water leaked past the seal"), default=False)
    finished_at = models.DateTimeField(
        _lazy("when the test ended (UTC)"),
        null=True,
        blank=True,
        help_text=_lazy("Taken from the stopwatch."),
    )
    made_at = models.DateTimeField(
        _lazy("when the readings were taken (UTC)"),
        default=now,
        editable=False,
        help_text=_lazy("As the device tells it; the time of arrival where it does not."),
    )
    sequence = models.PositiveSmallIntegerField(
        _lazy("number at this spot that day"), default=1, editable=False
    )
    minutes_since_first = models.FloatField(
        _lazy("minutes since the first test at the spot"), null=True, blank=True
    )
    rewetted = models.BooleanField(_lazy("prewetted for this test"), default=True)
    rate_mm_h = models.FloatField(null=True, editable=False)
    own_value = models.FloatField(null=True, editable=False)
    own_unit = models.CharField(max_length=8, blank=True, editable=False)
    bound = models.CharField(max_length=1, editable=False, choices=Bound.choices)
    deviations_json = models.JSONField(default=no_deviations, editable=False)
    is_valid = models.BooleanField(default=True, editable=False)
    note = models.TextField(_lazy("note"), blank=True)

    objects = TestQuerySet.as_manager()

    class Meta:
        ordering = ("made_at", "created_at", "pk")
        indexes = [models.Index(fields=["created_at", "id"], name="qa_test_as_stored")]
        constraints = [
            models.CheckConstraint(
                condition=~Q(method=TestMethod.RING.value)
                | Q(
                    test_mass__isnull=False,
                    test_mass__gt=0,
                    ring_diameter__isnull=False,
                    ring_diameter__gt=0,
                    elapsed_s__isnull=False,
                    elapsed_s__gt=0,
                ),
                name="qa_test_readings_positive",
                violation_error_message=_lazy(
                    "Mass, ring diameter and time must be given and be more than 0."
                ),
            ),
            models.CheckConstraint(
                condition=Q(
                    method__in=_RATELESS,
                    rate_mm_h__isnull=True,
                    own_value__isnull=False,
                    own_value__gt=0,
                )
                | (~Q(method__in=_RATELESS) & Q(rate_mm_h__isnull=False, rate_mm_h__gt=0)),
                name="qa_test_rate_where_there_is_one",
                violation_error_message=_lazy(
                    "A method that gives a rate needs one of more than 0, and no other has one."
                ),
            ),
        ]

    def __str__(self) -> str:
        return _("{place} on {day}").format(place=self.place, day=day(self.round.tested_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:test-detail", args=[self.pk])

    @property
    def place(self) -> str:
        """The location's label or the spot in words."""
        return self.location.label if self.location else self.spot or _("unnamed spot")

    @property
    def deviations(self) -> tuple[Deviation, ...]:
        """What was off, in the order it was found."""
        return Deviations.from_json(self.deviations_json).found

    @deviations.setter
    def deviations(self, found: tuple[Deviation, ...]) -> None:
        self.deviations_json = Deviations(found).to_json()

    @property
    def voided_by(self) -> tuple[Deviation, ...]:
        """Deviations after which it says nothing, by the weather of its round too; `is_valid` keeps whether any."""
        return voiding(
            (*self.deviations, *weather_deviations(self.round.conditions, TestMethod(self.method)))
        )

    @property
    def is_left_out(self) -> bool:
        """Whether it stands in the record and counts nowhere."""
        return self.is_active and not self.is_valid

    @property
    def bounded_by(self) -> tuple[Deviation, ...]:
        """Deviations after which its rate is at most what was read."""
        return bounding(self.deviations)

    @property
    def is_ring(self) -> bool:
        """Whether the readings stand in the ring test's own columns."""
        return self.method == TestMethod.RING

    @property
    def gives_rate(self) -> bool:
        """Whether its result is a rate at all."""
        return self.method not in WITHOUT_RATE

    @property
    def units(self) -> dict[str, str]:
        """The units beside the readings."""
        procedure = PROCEDURES[UnitSystem(self.unit_system)]
        return {"mass": procedure.mass_unit, "length": procedure.length_unit, "rate": procedure.rate_unit}
