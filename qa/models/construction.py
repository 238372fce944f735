"""The construction record of a surface: its checks, what was found, what was corrected."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from simple_history.models import HistoricalRecords

from core.calc.format import day
from core.calc.units import UnitSystem
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord, OnceRow
from qa.calc.check_model import Check, Criterion, HeaviestUse, Stage
from qa.calc.check_progress import LEFT_OUT, Outcome
from qa.calc.check_units import in_units
from qa.calc.sources import STATUS_NOTES, Source, SourceStatus
from qa.models.sites import OfSiteQuerySet
from qa.models.surfaces import AuditedQuerySet, OfSurfaceQuerySet, Surface


class CheckQuerySet(OfSiteQuerySet["ConstructionCheck"]):
    site_path = "record__surface__site"


class EntryQuerySet(AuditedQuerySet["CheckEntry"]):
    site_path = "construction_check__record__surface__site"


class WorkQuerySet(AuditedQuerySet["CorrectiveWork"]):
    site_path = "entry__construction_check__record__surface__site"


class ConstructionRecord(OnceRow):
    """The record of how one surface was built; its checks are the assembly of the day it was opened."""

    surface = models.OneToOneField(Surface, models.PROTECT, related_name="construction", editable=False)
    heaviest_use = models.CharField(
        _lazy("heaviest use"), max_length=8, choices=HeaviestUse.choices, default=HeaviestUse.VEHICLE.value
    )
    subgrade_cbr = models.FloatField(
        _lazy("CBR of the subgrade (%)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
        help_text=_lazy("Decides the overlap of the geotextile. Leave it empty where nobody knows."),
    )
    bound_bed = models.BooleanField(
        _lazy("units stand on a bound bed"),
        default=False,
        help_text=_lazy(
            "Drainage concrete, or a bound bedding with a bonding agent. It has checks of its own."
        ),
    )
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )

    objects = OfSurfaceQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        return _("Construction record of {surface}").format(surface=self.surface)

    @property
    def crumb(self) -> str:
        """What it is called below its surface."""
        return _("Construction record")

    def get_absolute_url(self) -> str:
        return reverse("qa:construction-detail", args=[self.surface_id])


class ConstructionCheck(OnceRow):
    """One check of a record, kept as it was asked when the record was opened or the check was added."""

    record = models.ForeignKey(ConstructionRecord, models.PROTECT, related_name="checks", editable=False)
    position = models.PositiveSmallIntegerField(editable=False)
    key = models.CharField(max_length=40, editable=False)
    stage = models.CharField(_lazy("stage"), max_length=16, choices=Stage.choices)
    asked = models.CharField(_lazy("what must hold"), max_length=240)
    otherwise = models.CharField(_lazy("what to do when it does not"), max_length=300, blank=True)
    unit = models.CharField(_lazy("unit"), max_length=16, blank=True)
    least = models.FloatField(_lazy("at least"), null=True, blank=True)
    most = models.FloatField(_lazy("at most"), null=True, blank=True)
    # As who builds by inches prints them, in the US unit; empty: as converted.
    least_us = models.FloatField(null=True, editable=False)
    most_us = models.FloatField(null=True, editable=False)
    most_excluded = models.BooleanField(default=False, editable=False)
    against_design = models.BooleanField(_lazy("compared with the design"), default=False)
    design = models.FloatField(_lazy("designed value"), null=True, blank=True)
    hold_point = models.BooleanField(
        _lazy("hold point"), default=False, help_text=_lazy("The next stage waits until it has passed.")
    )
    each = models.CharField(_lazy("a reading for each"), max_length=40, blank=True)
    readings_asked = models.PositiveSmallIntegerField(
        _lazy("readings asked for"), default=1, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    readings_basis = models.CharField(_lazy("why so many"), max_length=240, blank=True, editable=False)
    source = models.CharField(_lazy("where it comes from"), max_length=240, blank=True)
    source_status = models.CharField(max_length=16, choices=SourceStatus.choices, editable=False)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )

    objects = CheckQuerySet.as_manager()
    history = HistoricalRecords(history_change_reason_field=models.TextField(null=True))

    class Meta:
        ordering = ("position", "created_at", "pk")
        constraints = [
            models.UniqueConstraint(fields=("record", "key"), name="qa_check_key_once_a_record"),
            models.CheckConstraint(
                condition=Q(least__isnull=True) | Q(most__isnull=True) | Q(most__gte=F("least")),
                name="qa_check_bounds_ordered",
                violation_error_message=_lazy("The upper bound cannot be below the lower one."),
            ),
        ]

    def __str__(self) -> str:
        return self.as_read(UnitSystem.SI).asked

    def get_absolute_url(self) -> str:
        return reverse("qa:check-detail", args=[self.pk])

    @property
    def as_check(self) -> Check:
        """The stored row as the formulas take it."""
        return Check(
            key=self.key,
            stage=Stage(self.stage),
            asked=self.asked,
            source=self.as_source,
            otherwise=self.otherwise,
            unit=self.unit,
            least=self.least,
            most=self.most,
            most_excluded=self.most_excluded,
            against_design=self.against_design,
            hold_point=self.hold_point,
            each=self.each,
            least_us=self.least_us,
            most_us=self.most_us,
        )

    def as_read(self, units: str) -> Check:
        """The check with bounds and texts as a person of these units reads them."""
        return in_units(self.as_check, UnitSystem(units))

    @property
    def awaits_design(self) -> bool:
        """Whether it is held against a designed value that nobody entered yet."""
        return self.against_design and self.design is None

    @property
    def as_source(self) -> Source:
        """Where the criterion comes from."""
        return Source(self.source, SourceStatus(self.source_status))

    @property
    def rests_on_practice(self) -> bool:
        """Whether no document asks for it."""
        return self.source_status == SourceStatus.COMMON_PRACTICE

    @property
    def source_note(self) -> str:
        """What the reader should know about the criterion."""
        return _(STATUS_NOTES[SourceStatus(self.source_status)])


class CheckEntry(AuditedRecord):
    """One finding against a check: a reading or an answer, a waiver, or that it does not apply."""

    construction_check = models.ForeignKey(
        ConstructionCheck, models.PROTECT, related_name="entries", editable=False
    )
    done_on = models.DateField(_lazy("done on"), help_text=_lazy("Calendar date at the site."))
    outcome = models.CharField(max_length=10, choices=Outcome.choices, editable=False)
    reading = models.FloatField(_lazy("reading"), null=True, blank=True)
    # The system it was read in: it is judged by the bounds of that system.
    units = models.CharField(
        max_length=2, choices=UnitSystem.choices, default=UnitSystem.SI.value, editable=False
    )
    where = models.CharField(_lazy("where"), max_length=80, blank=True)
    note = models.TextField(
        _lazy("remark"), blank=True, help_text=_lazy("It is printed in the handover record.")
    )
    reason = models.TextField(
        _lazy("reason"), blank=True, help_text=_lazy("It is shown wherever the check is shown.")
    )
    rechecks = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, editable=False, related_name="rechecked_by"
    )
    criterion_json = models.JSONField(editable=False)
    criterion = StoredFact(Criterion, "criterion_json")

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        verbose_name_plural = "check entries"
        constraints = [
            models.CheckConstraint(
                condition=~Q(outcome__in=[outcome.value for outcome in LEFT_OUT])
                | (~Q(reason="") & Q(reading__isnull=True)),
                name="qa_entry_left_out_with_reason",
                violation_error_message=_lazy("A waiver needs its reason, and has no reading."),
            )
        ]

    def __str__(self) -> str:
        outcome = self.get_outcome_display()
        return _("{outcome} on {day}").format(outcome=outcome, day=day(self.done_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:check-detail", args=[self.construction_check_id])

    @property
    def is_finding(self) -> bool:
        """Whether something was looked at and found so or not: not a check that was left out."""
        return Outcome(self.outcome) not in LEFT_OUT

    @property
    def put_right(self) -> bool:
        """Whether something that counts was done about it."""
        return any(work.is_active for work in self.works.all())


class CorrectiveWork(AuditedRecord):
    """What was done about a failed check, and by whom."""

    entry = models.ForeignKey(CheckEntry, models.PROTECT, related_name="works", editable=False)
    done_on = models.DateField(_lazy("done on"), help_text=_lazy("Calendar date at the site."))
    what = models.TextField(_lazy("what was done"))
    done_by = models.CharField(_lazy("who did it"), max_length=120)

    objects = WorkQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        verbose_name = "corrective work"
        constraints = [
            models.CheckConstraint(
                condition=~Q(what="") & ~Q(done_by=""),
                name="qa_work_says_what_and_who",
                violation_error_message=_lazy("Say what was done and who did it."),
            )
        ]

    def __str__(self) -> str:
        return _("Corrected on {day}").format(day=day(self.done_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:check-detail", args=[self.entry.construction_check_id])
