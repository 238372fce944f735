"""Cleaning methods, what a firm charges for them, and what was done to a surface on a day."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.calc.paving import CleaningMethod
from core.calc.units import PRICE_DECIMALS
from core.models.decimals import DecimalColumn
from core.models.rows import AuditedRecord, Row
from maintenance.calc.vocabulary import Wetness
from qa.models import Surface
from qa.models.surfaces import AuditedQuerySet

LONGEST_CURE_H = 28 * 24.0  # concrete has its strength by then


class MethodTerms(Row):
    """How fast a crew is with a method, and what a client pays for it, as advice reckons.

    While a price list is in force the prices here are a copy of it, written by `maintenance.services.prices` alone.
    """

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="method_terms", editable=False
    )
    method = models.CharField(max_length=16, choices=CleaningMethod.choices, editable=False)
    offered = models.BooleanField(_lazy("we offer it"), default=True)
    cost_per_m2 = DecimalColumn(
        _lazy("cost for each m²"),
        max_digits=16,
        decimal_places=PRICE_DECIMALS,
        validators=[MinValueValidator(0)],
    )
    minimum_charge = DecimalColumn(max_digits=14, decimal_places=2, validators=[MinValueValidator(0)])
    output_m2_h = models.FloatField(
        _lazy("output (m²/h)"), validators=[MinValueValidator(0.1), MaxValueValidator(1e5)]
    )
    foot_after_h = models.FloatField(
        _lazy("closed to people after it (h)"),
        default=0.0,
        validators=[MinValueValidator(0), MaxValueValidator(LONGEST_CURE_H)],
        help_text=_lazy("Until what was put in has set. The data sheet of the product decides."),
    )
    vehicles_after_h = models.FloatField(
        _lazy("closed to vehicles after it (h)"),
        default=0.0,
        validators=[MinValueValidator(0), MaxValueValidator(LONGEST_CURE_H)],
    )

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ("organisation", "method")
        constraints = [
            models.UniqueConstraint(fields=("organisation", "method"), name="maintenance_terms_once_a_method")
        ]

    def __str__(self) -> str:
        return _("{method} at {firm}").format(method=self.get_method_display(), firm=self.organisation)


class CleaningEvent(AuditedRecord):
    """What was done to a surface on a day."""

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="cleanings")
    cleaned_on = models.DateField(_lazy("cleaned on"), help_text=_lazy("Calendar date at the site."))
    method = models.CharField(max_length=16, choices=CleaningMethod.choices)
    share_of_area = models.FloatField(
        _lazy("share of the area"),
        default=1.0,
        validators=[MinValueValidator(0.01), MaxValueValidator(1.0)],
        help_text=_lazy("1 is all of it, 0.5 is half."),
    )
    wetness = models.CharField(
        _lazy("surface was"), max_length=3, choices=Wetness.choices, default=Wetness.DRY.value
    )
    material_out_kg = models.FloatField(
        _lazy("material taken out (kg)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1e6)],
    )
    material_in_kg = models.FloatField(
        _lazy("material put in (kg)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1e6)],
    )
    material_in = models.CharField(_lazy("what was put in"), max_length=120, blank=True)
    passes = models.PositiveSmallIntegerField(
        _lazy("passes of the machine"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(50)],
    )
    depth_out_mm = models.FloatField(
        _lazy("depth of joint material taken out (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.5), MaxValueValidator(500)],
        help_text=_lazy("Below the top of the joint, where it was measured."),
    )
    pressure_bar = models.FloatField(
        _lazy("pressure at the nozzle (bar)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(1000)],
    )
    done_by = models.CharField(_lazy("who did it"), max_length=120, blank=True)
    equipment = models.CharField(_lazy("with what machine or tool"), max_length=120, blank=True)
    disposal_ticket = models.CharField(
        _lazy("disposal ticket"),
        max_length=60,
        blank=True,
        help_text=_lazy("Its number. What was taken out may be controlled waste; the local rule decides."),
    )
    disposal_place = models.CharField(_lazy("where it was taken"), max_length=160, blank=True)
    cost = DecimalColumn(
        max_digits=11,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text=_lazy("What the owner is charged. What it costs the firm is told by the crew's hours."),
    )
    currency = models.CharField(max_length=3, editable=False)
    note = models.TextField(blank=True)

    objects = AuditedQuerySet.as_manager()

    class Meta:
        ordering = ("-cleaned_on", "-created_at")
        indexes = [models.Index(fields=["surface", "cleaned_on"], name="maintenance_cleaning_by_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(share_of_area__gt=0, share_of_area__lte=1),
                name="maintenance_cleaning_share_in_range",
                violation_error_message=_lazy("The share of the area must be more than 0 and at most 1."),
            )
        ]

    def __str__(self) -> str:
        return _("{method} of {day}").format(method=self.get_method_display(), day=day(self.cleaned_on))

    def get_absolute_url(self) -> str:
        return reverse("maintenance:cleaning-detail", args=[self.pk])

    @property
    def disposal(self) -> str:
        """Ticket and place of what was taken out; empty where neither is known."""
        ticket = _("ticket {number}").format(number=self.disposal_ticket) if self.disposal_ticket else ""
        return ", ".join(filter(None, (ticket, self.disposal_place)))
