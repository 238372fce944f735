"""Plans of work: proposals for crews and days, which become visits only where somebody accepts them."""

from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import ngettext, pgettext_lazy

from accounts.models import Organisation
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.models.jobs import Job, JobQuerySet
from core.models.payloads import StoredFact, StoredPayload
from core.models.rows import OnceRow, Row
from planning.calc.drive_file import DriveTimes
from planning.calc.plan_payload import WorkPlanResult
from planning.calc.vocabulary import TestsBeside

LONGEST_DAYS = 56


class WorkPlanQuerySet(JobQuerySet["WorkPlan"], TenantQuerySet["WorkPlan"]):  # type: ignore[override]
    organisation_path = "organisation"


class WorkPlan(OnceRow, Job):
    """Which crew does what on which day, worked out in the background. It is a proposal, never a fact.

    stop_asked: somebody wants the best plan found so far
    """

    TIME_LIMIT: ClassVar[timedelta] = timedelta(minutes=5)

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="work_plans", editable=False)
    first_on = models.DateField(pgettext_lazy("first day", "from"))
    days = models.PositiveSmallIntegerField(
        _lazy("days ahead"), default=28, validators=[MinValueValidator(1), MaxValueValidator(LONGEST_DAYS)]
    )
    tests_beside = models.CharField(
        _lazy("tests beside cleanings"),
        max_length=8,
        choices=TestsBeside.choices,
        default=TestsBeside.AFTER.value,
        help_text=_lazy(
            "On the same trip where that can be. What a cleaning gave back is known only by a test after it."
        ),
    )
    seed = models.PositiveIntegerField(_lazy("random seed"), default=0)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    stop_asked = models.BooleanField(default=False, editable=False)
    result_json = models.JSONField(null=True, editable=False)
    result = StoredPayload(WorkPlanResult, "result_json")

    objects = WorkPlanQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        said = ngettext("Plan from {day}, {count} day", "Plan from {day}, {count} days", self.days)
        return said.format(day=day(self.first_on), count=self.days)

    def get_absolute_url(self) -> str:
        return reverse("planning:proposal-detail", args=[self.pk])


class DriveTable(Row):
    """Drives between a firm's sites and depots as it measured them, from a file; the newest file takes its place."""

    organisation = models.OneToOneField(
        Organisation, models.CASCADE, related_name="drive_table", editable=False
    )
    file_name = models.CharField(max_length=160, editable=False)
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    sent_at = models.DateTimeField(editable=False)
    drives_json = models.JSONField(editable=False)
    drives = StoredFact(DriveTimes, "drives_json")

    objects = TenantQuerySet.as_manager()

    def __str__(self) -> str:
        return _("Drives of {firm} from {file}").format(firm=self.organisation, file=self.file_name)
