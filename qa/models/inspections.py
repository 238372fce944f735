"""Inspections, what they found, what was done about it, and changes of what washes fines on to a surface."""

from datetime import datetime
from typing import Any, Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from core.calc.audit import AuditState
from core.calc.format import day, labelled
from core.calc.paving import SourceChange as SourceChangeKind
from core.models.payloads import StoredFact
from core.models.rows import AuditedRecord
from qa.calc.drain_down import WellReadings
from qa.calc.inspections import Checklist, FindingState, InspectionItem, Severity
from qa.models.surfaces import AuditedQuerySet, Surface


def nothing_answered() -> dict[str, Any]:
    """A checklist before anything is said."""
    return Checklist().to_json()


def nothing_read() -> dict[str, Any]:
    """A well that was not read."""
    return WellReadings().to_json()


class FindingQuerySet(AuditedQuerySet["InspectionFinding"]):
    site_path = "inspection__surface__site"

    def standing(self) -> Self:
        """Findings that count: neither they nor their inspection were set aside."""
        return self.active().filter(inspection__state=AuditState.ACTIVE)

    def to_do(self) -> Self:
        """Findings about which nothing was done yet."""
        done = Remedy.objects.active().filter(finding=OuterRef("pk"))
        return self.standing().exclude(Exists(done))


class RemedyQuerySet(AuditedQuerySet["Remedy"]):
    site_path = "finding__inspection__surface__site"


class Inspection(AuditedRecord):
    """A look at a surface with a checklist beyond its rate."""

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="inspections", editable=False)
    inspected_on = models.DateField(_lazy("inspected on"), help_text=_lazy("Calendar date at the site."))
    hours_since_rain = models.FloatField(
        _lazy("hours since the last rain"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(10_000)],
        help_text=_lazy("Leave it empty where nobody knows."),
    )
    checklist_json = models.JSONField(default=nothing_answered, editable=False)
    checklist = StoredFact(Checklist, "checklist_json")
    well_json = models.JSONField(default=nothing_read, editable=False)
    well = StoredFact(WellReadings, "well_json")
    winter_practice = models.CharField(
        _lazy("how snow and ice are dealt with"),
        max_length=300,
        blank=True,
        help_text=_lazy("Who clears it, with what, how much salt. The owner reads it."),
    )
    note = models.TextField(
        _lazy("note for the firm"), blank=True, help_text=_lazy("The owner does not see it.")
    )

    objects = AuditedQuerySet.as_manager()

    class Meta:
        ordering = ("-inspected_on", "-created_at")
        indexes = [models.Index(fields=["surface", "inspected_on"], name="qa_inspection_by_day")]

    def __str__(self) -> str:
        return _("Inspection of {day}").format(day=day(self.inspected_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:inspection-detail", args=[self.pk])

    @property
    def knows_rain(self) -> bool:
        """Whether somebody knew when it last rained."""
        return self.hours_since_rain is not None


class InspectionFinding(AuditedRecord):
    """Something that an inspection found wrong; it is work until a record says what was done, or it is set aside."""

    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="findings", editable=False)
    item = models.CharField(max_length=12, choices=InspectionItem.choices, editable=False)
    severity = models.CharField(
        _lazy("severity"), max_length=8, choices=Severity.choices, default=Severity.SOON.value
    )
    what = models.CharField(_lazy("what is wrong"), max_length=400)
    where = models.CharField(_lazy("where"), max_length=120, blank=True)
    depth_mm = models.FloatField(
        _lazy("depth below the top (mm)"),
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1000)],
    )
    comes_from = models.CharField(
        _lazy("where it comes from"),
        max_length=200,
        blank=True,
        help_text=_lazy("Follow it up the slope: beds, building work, a neighbour's yard, tyres."),
    )
    advice = models.CharField(_lazy("what to do"), max_length=400)
    due_on = models.DateField(
        _lazy("correct by"), help_text=_lazy("Set by how pressing it is, unless you change it.")
    )

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ("due_on", "created_at", "pk")
        constraints = [
            models.CheckConstraint(
                condition=~Q(what="") & ~Q(advice=""),
                name="qa_finding_says_what_and_what_to_do",
                violation_error_message=_lazy("Say what is wrong and what to do about it."),
            )
        ]

    def __str__(self) -> str:
        return labelled(self.get_item_display(), self.what)

    @property
    def crumb(self) -> str:
        """What it is called below its inspection."""
        return str(self.get_item_display())

    def get_absolute_url(self) -> str:
        return reverse("qa:finding-detail", args=[self.pk])

    @property
    def surface(self) -> Surface:
        """The surface that was inspected."""
        return self.inspection.surface

    @property
    def remedy(self) -> "Remedy | None":
        """What was done about it, the latest; reads its remedies where they are not joined."""
        active = [remedy for remedy in self.remedies.all() if remedy.is_active]
        return max(active, key=_recorded_at, default=None)

    @property
    def finding_state(self) -> FindingState:
        """What became of it. Reads inspection and remedies where they are not joined."""
        if not (self.is_active and self.inspection.is_active):
            return FindingState.ASIDE
        return FindingState.DONE if self.remedy else FindingState.OPEN

    @property
    def has_depth(self) -> bool:
        """Whether a depth was measured."""
        return self.depth_mm is not None

    @property
    def is_due(self) -> bool:
        """Whether its day has come, by the date at the site, which is read where it is not joined."""
        return self.due_on <= self.surface.site.today()

    @property
    def is_of_sediment(self) -> bool:
        """Whether stopping a source may correct it."""
        return self.item in (InspectionItem.SEDIMENT, InspectionItem.PLANTING)

    @property
    def is_open(self) -> bool:
        """Whether it is work."""
        return self.finding_state is FindingState.OPEN


class Remedy(AuditedRecord):
    """What was done about a finding, and by whom."""

    finding = models.ForeignKey(InspectionFinding, models.PROTECT, related_name="remedies", editable=False)
    done_on = models.DateField(_lazy("done on"), help_text=_lazy("Calendar date at the site."))
    what = models.TextField(_lazy("what was done"))
    done_by = models.CharField(_lazy("who did it"), max_length=120)

    objects = RemedyQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        verbose_name_plural = "remedies"
        constraints = [
            models.CheckConstraint(
                condition=~Q(what="") & ~Q(done_by=""),
                name="qa_remedy_says_what_and_who",
                violation_error_message=_lazy("Say what was done and who did it."),
            )
        ]

    def __str__(self) -> str:
        return _("Corrected on {day}").format(day=day(self.done_on))

    def get_absolute_url(self) -> str:
        return self.finding.get_absolute_url()


class SourceChange(AuditedRecord):
    """A dated change of what washes fines on to a surface: a source stopped, or a new one."""

    surface = models.ForeignKey(Surface, models.PROTECT, related_name="source_changes", editable=False)
    changed_on = models.DateField(_lazy("changed on"), help_text=_lazy("Calendar date at the site."))
    kind = models.CharField(_lazy("what happened"), max_length=8, choices=SourceChangeKind.choices)
    source = models.CharField(
        _lazy("what the source is or was"),
        max_length=300,
        help_text=_lazy("Bed without a kerb, building work uphill, gritting."),
    )
    what = models.CharField(
        _lazy("what was found or done"),
        max_length=400,
        help_text=_lazy("Kerb set, ground covered, works begun."),
    )
    finding = models.ForeignKey(
        InspectionFinding,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="source_changes",
        help_text=_lazy("The finding that this corrects, if there is one."),
        verbose_name=_lazy("finding"),
    )

    objects = AuditedQuerySet.as_manager()

    class Meta:
        ordering = ("changed_on", "created_at")
        constraints = [
            models.CheckConstraint(
                condition=~Q(source="") & ~Q(what=""),
                name="qa_source_change_says_what",
                violation_error_message=_lazy("Say what the source is and what was found or done."),
            )
        ]

    def __str__(self) -> str:
        return _("{what} on {day}").format(what=self.get_kind_display(), day=day(self.changed_on))

    def get_absolute_url(self) -> str:
        return reverse("qa:source-change-detail", args=[self.pk])


def _recorded_at(remedy: Remedy) -> datetime:
    return remedy.created_at
