"""Visits and what is to be done on them."""

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy
from simple_history.models import HistoricalRecords

from accounts.models import Organisation, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.format import day
from core.calc.paving import CleaningMethod
from core.models.rows import OnceRow
from maintenance.calc.vocabulary import Action
from maintenance.models.cleanings import CleaningEvent
from maintenance.models.recommendations import Recommendation, action_words
from planning.calc.vocabulary import LEFT, Moment, TaskOutcome, VisitStatus
from planning.models.crews import Crew
from qa.models import Inspection, InspectionFinding, SourceChange, Surface, TestRound

STANDING = Q(ended_at__isnull=False) | Q(visit__status=VisitStatus.SCHEDULED)  # of tasks, see `standing`
LONGEST_MIN = 60 * 24 * 30  # a month of day and night
# Columns of a task with what shows that it was done.
PROOFS = ("round", "cleaning", "inspection", "source_change")


class Visit(OnceRow):
    """A crew at one or more sites on a day."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="visits", editable=False)
    visit_on = models.DateField(pgettext_lazy("a day", "on"))
    crew = models.ForeignKey(Crew, models.PROTECT, related_name="visits", verbose_name=_lazy("crew"))
    status = models.CharField(
        max_length=10, choices=VisitStatus.choices, default=VisitStatus.SCHEDULED.value, editable=False
    )
    cancel_reason = models.TextField(blank=True, editable=False)
    note = models.TextField(_lazy("note"), blank=True)
    planned_by = models.ForeignKey(User, models.PROTECT, null=True, editable=False, related_name="+")
    # Both rise with whatever a calendar elsewhere shall show anew: the day, the crew, the tasks, how it stands.
    revision = models.PositiveIntegerField(default=0, editable=False)
    changed_at = models.DateTimeField(default=now, editable=False)

    objects = TenantQuerySet.as_manager()
    history = HistoricalRecords(excluded_fields=["revision", "changed_at"])

    class Meta:
        ordering = ("visit_on", "crew__name", "pk")

    def __str__(self) -> str:
        return _("{crew} on {day}").format(crew=self.crew, day=day(self.visit_on))

    def get_absolute_url(self) -> str:
        return reverse("planning:visit-detail", args=[self.pk])

    @property
    def is_scheduled(self) -> bool:
        """Whether it lies ahead, or is under way."""
        return self.status == VisitStatus.SCHEDULED

    @property
    def is_cancelled(self) -> bool:
        """Whether it was cancelled."""
        return self.status == VisitStatus.CANCELLED


class VisitTaskQuerySet(TenantQuerySet["VisitTask"]):
    organisation_path = "visit__organisation"
    owner_path = "surface__site__owner"

    def standing(self) -> "VisitTaskQuerySet":
        """Ended, or to be done on a visit that was not called off: what was called off takes nothing up."""
        return self.filter(STANDING)

    def left_over(self) -> "VisitTaskQuerySet":
        """Added by hand, something left, not taken up again. Advice and findings return by themselves."""
        again = VisitTask.objects.standing().filter(follows=OuterRef("pk"), action=OuterRef("action"))
        by_hand = self.filter(outcome__in=LEFT, recommendation=None, inspection_finding=None)
        return by_hand.filter(surface__removed_on=None).exclude(Exists(again))

    def tests_after(self) -> "VisitTaskQuerySet":
        """Tests of what a cleaning gave, done or still to come."""
        tests = self.standing().filter(action=Action.TEST)
        return tests.exclude(outcome__in=(TaskOutcome.NOT_DONE, TaskOutcome.GIVEN_UP))


class VisitTask(OnceRow):
    """One thing to do on a visit; done once its record is there: a round, a cleaning, an inspection, or what was done.

    inspection_finding: what is to be corrected, where the task is that.
    begins_min, ends_min: minutes from midnight at the site, of the accepted plan of work that put it on this crew's day
    ended_at, outcome: when and how it ended; outcome_reason: why not, or not all of it.
    taken_min: minutes of work, without the drive, as the crew told them.
    follows: the task of which this one is what was left, or whose cleaning it tests.
    """

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="tasks")
    surface = models.ForeignKey(
        Surface, models.PROTECT, related_name="visit_tasks", verbose_name=_lazy("surface")
    )
    action = models.CharField(_lazy("action"), max_length=8, choices=Action.choices)
    method = models.CharField(_lazy("method"), max_length=16, choices=CleaningMethod.choices, blank=True)
    moment = models.CharField(max_length=6, choices=Moment.choices, blank=True, editable=False)
    recommendation = models.ForeignKey(
        Recommendation, models.PROTECT, null=True, blank=True, related_name="tasks", editable=False
    )
    round = models.OneToOneField(
        TestRound, models.PROTECT, null=True, blank=True, editable=False, related_name="visit_task"
    )
    cleaning = models.OneToOneField(
        CleaningEvent, models.PROTECT, null=True, blank=True, editable=False, related_name="visit_task"
    )
    inspection = models.OneToOneField(
        Inspection, models.PROTECT, null=True, blank=True, editable=False, related_name="visit_task"
    )
    source_change = models.OneToOneField(
        SourceChange, models.PROTECT, null=True, blank=True, editable=False, related_name="visit_task"
    )
    inspection_finding = models.ForeignKey(
        InspectionFinding, models.PROTECT, null=True, blank=True, editable=False, related_name="tasks"
    )
    finding = models.TextField(_lazy("what was found"), blank=True, editable=False)
    ended_at = models.DateTimeField(null=True, editable=False)
    outcome = models.CharField(max_length=8, choices=TaskOutcome.choices, blank=True, editable=False)
    outcome_reason = models.TextField(blank=True, editable=False)
    taken_min = models.PositiveIntegerField(
        _lazy("time taken (minutes)"), null=True, editable=False, validators=[MaxValueValidator(LONGEST_MIN)]
    )
    follows = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, editable=False, related_name="followed_by"
    )
    begins_min = models.PositiveSmallIntegerField(null=True, editable=False)
    ends_min = models.PositiveSmallIntegerField(null=True, editable=False)

    objects = VisitTaskQuerySet.as_manager()

    class Meta:
        ordering = ("surface__site__name", "surface__name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("visit", "surface", "action", "moment"),
                condition=Q(ended_at__isnull=True, inspection_finding__isnull=True),
                name="planning_task_once_a_visit",
                violation_error_message=_lazy("This visit already has that task for the surface."),
            ),
            models.UniqueConstraint(
                fields=("visit", "inspection_finding"),
                condition=Q(ended_at__isnull=True),
                name="planning_finding_once_a_visit",
                violation_error_message=_lazy("This finding is on the visit already."),
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, outcome="") | (Q(ended_at__isnull=False) & ~Q(outcome="")),
                name="planning_task_ended_with_outcome",
                violation_error_message=_lazy(
                    "A task that ended has an outcome, and one that is to do has none."
                ),
            ),
        ]

    def __str__(self) -> str:
        return _("{title}: {surface}").format(title=self.title, surface=self.surface)

    @property
    def title(self) -> str:
        """The action, with its method or what is to be corrected where it has one."""
        if self.inspection_finding_id:
            return _("{action}: {what}").format(
                action=Action(self.action).label, what=self.inspection_finding
            )
        words = action_words(self.action, self.method)
        # Translators: a test, and "before the cleaning" or "after the cleaning".
        return (
            _("{test} {moment}").format(test=words, moment=Moment(self.moment).label)
            if self.moment
            else words
        )

    @property
    def has_ended(self) -> bool:
        """Whether nothing more is to be done about it on this visit."""
        return self.ended_at is not None

    @property
    def is_done(self) -> bool:
        """Whether it was done, all of it or a part."""
        return self.outcome in (TaskOutcome.DONE, TaskOutcome.PART)

    @property
    def is_disproved(self) -> bool:
        """Whether the record by which it was done was set aside since, so that nothing shows it any more."""
        records = [record for name in PROOFS if (record := getattr(self, name)) is not None]
        return bool(records) and not any(record.is_active for record in records)
