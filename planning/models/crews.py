"""Crews: who they are, when and from where they work, what they can do."""

from datetime import time
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day, labelled
from core.calc.paving import CleaningMethod
from core.calc.units import PRICE_DECIMALS
from core.calc.weekdays import Weekdays, working_week
from core.models.decimals import DecimalColumn
from core.models.payloads import StoredFact
from core.models.rows import OnceRow, Row


class Crew(OnceRow):
    """People who go out together."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="crews", editable=False)
    name = models.CharField(_lazy("name"), max_length=80)
    people = models.ManyToManyField(User, blank=True, related_name="crews", verbose_name=_lazy("people"))
    weekdays_json = models.JSONField(default=working_week, editable=False)
    weekdays = StoredFact(Weekdays, "weekdays_json")
    starts_at = models.TimeField(_lazy("leaves at"), default=time(7))
    hours_a_day = models.FloatField(
        _lazy("working hours a day"), default=8.0, validators=[MinValueValidator(0.5), MaxValueValidator(24)]
    )
    depot = models.CharField(
        _lazy("starts from"), max_length=240, blank=True, help_text=_lazy("Yard or depot, in words.")
    )
    latitude_deg = models.FloatField(
        _lazy("latitude of the depot (degrees north)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-90.0), MaxValueValidator(90.0)],
        help_text=_lazy("Without it drives are counted from the middle of the firm's sites."),
    )
    longitude_deg = models.FloatField(
        _lazy("longitude of the depot (degrees east)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-180.0), MaxValueValidator(180.0)],
    )
    hour_cost = DecimalColumn(
        _lazy("cost of an hour"),
        max_digits=9,
        decimal_places=2,
        default=Decimal(60),
        validators=[MinValueValidator(0)],
    )
    km_cost = DecimalColumn(
        _lazy("cost of a kilometre"),
        max_digits=7,
        decimal_places=2,
        default=Decimal("0.60"),
        validators=[MinValueValidator(0)],
    )
    is_subcontracted = models.BooleanField(_lazy("subcontracted"), default=False)
    retired = models.BooleanField(_lazy("inactive"), default=False)

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="planning_crew_name_once",
                violation_error_message=_lazy("There is already a crew of this name. Tell them apart."),
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("planning:crew-detail", args=[self.pk])

    @property
    def shift_min(self) -> tuple[int, int]:
        """When a working day begins and ends, in minutes from midnight; it ends before the next."""
        start = 60 * self.starts_at.hour + self.starts_at.minute
        return start, min(24 * 60, start + round(60 * self.hours_a_day))


class CrewMethodQuerySet(TenantQuerySet["CrewMethod"]):
    organisation_path = "crew__organisation"


class CrewMethod(Row):
    """A way of cleaning that a crew is equipped for. A crew without any is taken to be equipped for all."""

    crew = models.ForeignKey(Crew, models.CASCADE, related_name="methods")
    method = models.CharField(_lazy("method"), max_length=16, choices=CleaningMethod.choices)
    output_m2_h = models.FloatField(
        _lazy("output (m²/h)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1)],
        help_text=_lazy("Empty: the firm's output for the method."),
    )
    cost_per_m2 = DecimalColumn(
        _lazy("its price (per m²)"),
        max_digits=11,
        decimal_places=PRICE_DECIMALS,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_lazy("What a subcontracted crew charges."),
    )

    objects = CrewMethodQuerySet.as_manager()

    class Meta:
        ordering = ("crew", "method")
        constraints = [
            models.UniqueConstraint(
                fields=("crew", "method"),
                name="planning_crew_method_once",
                violation_error_message=_lazy("The crew has this way of cleaning already. Change that line."),
            ),
        ]

    def __str__(self) -> str:
        return labelled(self.crew, self.get_method_display())


class CrewAbsenceQuerySet(TenantQuerySet["CrewAbsence"]):
    organisation_path = "crew__organisation"


class CrewAbsence(OnceRow):
    """Days on which a crew does not go out."""

    crew = models.ForeignKey(Crew, models.CASCADE, related_name="absences", editable=False)
    first_on = models.DateField(pgettext_lazy("first day", "from"))
    last_on = models.DateField(pgettext_lazy("last day", "to"))
    reason = models.CharField(_lazy("reason"), max_length=120, blank=True)

    objects = CrewAbsenceQuerySet.as_manager()

    class Meta:
        ordering = ("first_on", "pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(last_on__gte=F("first_on")),
                name="planning_absence_ends_after_start",
                violation_error_message=_lazy("The absence cannot end before it begins. Check both days."),
            )
        ]

    def __str__(self) -> str:
        said = _("{crew} away {first} to {last}")
        return said.format(crew=self.crew, first=day(self.first_on), last=day(self.last_on))
