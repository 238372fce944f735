"""Sheets that somebody sent, what they hold, and how a firm's columns are called."""

from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.calc.roles import Role
from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.jobs import JobState
from core.calc.units import UnitSystem
from core.models.files import random_path
from core.models.jobs import Job, JobQuerySet
from core.models.payloads import StoredPayload
from core.models.rows import OnceRow, Row
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.payloads import ImportReport, LearntColumns, Matching, SheetHeads
from exchange.calc.steps import ImportStep
from exchange.calc.ways import DayOrder, DecimalMark, Ways


class DataImportQuerySet(JobQuerySet["DataImport"], TenantQuerySet["DataImport"]):  # type: ignore[override]
    organisation_path = "organisation"


class DataImport(OnceRow, Job):
    """Sheets to be taken in: sent, matched, looked through without storing anything, then stored as a whole.

    content: the files as they were sent, in one archive; gone once they are stored or thrown away.
    """

    IS_LONG: ClassVar[bool] = True
    BULKY: ClassVar[tuple[str, ...]] = ("report_json",)
    LEASE: ClassVar[timedelta] = timedelta(minutes=5)  # on SQLite nobody else writes while it stores
    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=10)
    MOST_ATTEMPTS: ClassVar[int] = 2

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="data_imports", editable=False
    )
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, editable=False, related_name="+")
    names = models.CharField(_lazy("files"), max_length=400, editable=False)
    content = models.FileField(upload_to=random_path, max_length=60, blank=True, editable=False)
    step = models.CharField(
        max_length=10, choices=ImportStep.choices, default=ImportStep.MATCHING.value, editable=False
    )
    units = models.CharField(
        _lazy("units"),
        max_length=2,
        choices=UnitSystem.choices,
        default=UnitSystem.SI.value,
        help_text=_lazy("Of numbers whose column does not say another unit."),
    )
    days = models.CharField(
        _lazy("dates are written"),
        max_length=3,
        choices=DayOrder.choices,
        default=DayOrder.DAY_FIRST.value,
        help_text=_lazy("Of dates that stand in the sheets as text."),
    )
    decimals = models.CharField(
        _lazy("decimal mark"),
        max_length=5,
        choices=DecimalMark.choices,
        default=DecimalMark.POINT.value,
        help_text=_lazy(
            "Of numbers that stand in the sheets as text and can be read in two ways, such as 1,234."
        ),
    )
    heads_json = models.JSONField(null=True, editable=False)
    heads = StoredPayload(SheetHeads, "heads_json")
    matching_json = models.JSONField(null=True, editable=False)
    matching = StoredPayload(Matching, "matching_json")
    report_json = models.JSONField(null=True, editable=False)
    report = StoredPayload(ImportReport, "report_json")

    objects = DataImportQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        return self.names

    def get_absolute_url(self) -> str:
        return reverse("exchange:import-detail", args=[self.pk])

    @property
    def ways(self) -> Ways:
        """How the sheets are written."""
        return Ways(UnitSystem(self.units), DayOrder(self.days), DecimalMark(self.decimals))

    @property
    def least_role(self) -> Role:
        """The role that whoever has it stored needs: that of the rows it holds."""
        sheets = self.matching.sheets if self.matching else ()
        needed = (KINDS[SheetKind(sheet.kind)].least_role for sheet in sheets if sheet.kind)
        return max(needed, default=Role.TECHNICIAN)

    @property
    def is_matched(self) -> bool:
        """Whether somebody said what the columns hold."""
        return self.step != ImportStep.MATCHING

    @property
    def is_stored(self) -> bool:
        """Whether everything is taken in."""
        return self.step == ImportStep.STORED

    @property
    def is_ready(self) -> bool:
        """Whether it was looked through, nothing stands in the way, and there is something to store."""
        report = self.report
        looked_through = self.step == ImportStep.CHECKING and self.state == JobState.DONE
        return looked_through and report is not None and not report.problem_count and bool(report.new)


class ColumnTemplate(Row):
    """What a firm's sheets of one kind call their columns, as its people matched them last."""

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="column_templates", editable=False
    )
    kind = models.CharField(_lazy("kind of sheet"), max_length=10, choices=SheetKind.choices, editable=False)
    columns_json = models.JSONField(editable=False)
    columns = StoredPayload(LearntColumns, "columns_json")

    objects = TenantQuerySet.as_manager()

    class Meta:
        ordering = ("organisation", "kind")
        constraints = [
            models.UniqueConstraint(
                fields=("organisation", "kind"),
                name="exchange_template_once_a_kind",
                violation_error_message=_lazy("The firm has a template of this kind of sheet already."),
            )
        ]

    def __str__(self) -> str:
        return _("{kind} of {firm}").format(kind=self.get_kind_display(), firm=self.organisation)
